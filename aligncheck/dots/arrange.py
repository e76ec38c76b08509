"""How the dots stand to one another: rings, walked runs, what is off its place or run together, and the paints."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrangement import Arrangement, OtherPaint, Paint
from aligncheck.dots.chalk import Chalk
from aligncheck.dots.colours import as_rgb, dot_colours, groups
from aligncheck.dots.dots import Dots
from aligncheck.dots.intervals import on_the_panel
from aligncheck.dots.limits import bare_places, with_limits
from aligncheck.dots.merged import merged
from aligncheck.dots.misplaced import misplaced
from aligncheck.dots.paints import Paints, named
from aligncheck.dots.places import Places, places_of
from aligncheck.dots.rings import rings_of
from aligncheck.dots.runs import runs_of
from aligncheck.dots.turning_point import turning_point
from aligncheck.dots.view import DotView
from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.side_by_side import beside

Floats = NDArray[np.float64]

#: A dot is of another paint than its like where it is this unlike their paint (CIEDE2000) and this near to its own:
#: small dots and highlights mix with what lies about them, and are neither.
UNLIKE, LIKE = 12.0, 6.0
#: That is told only of kinds of which so large a share is of one paint: else colours were meant to change.
ONE_PAINT_SHARE = 0.75


def arranged(dots: Dots, photo: Photo, panel: Panel, view: DotView, chalk: Chalk) -> Dots:
    """The dots with all that follows from how they stand to one another."""
    places = places_of(dots)
    run_together = beside(lambda: merged(view, dots, places, chalk) if places is not None else ())
    lab = dot_colours(photo, panel, dots.dots, dots.covered)
    diameter = np.array([d.diameter_mm for d in dots.dots])
    middles, paint = groups(lab, diameter, max(2, dots.order // 2))
    found = Arrangement(
        paints=tuple(Paint(m, as_rgb(m), int((paint == k).sum())) for k, m in enumerate(middles)),
        paint_of=tuple(int(p) for p in paint),
    )
    if places is not None:
        found = replace(
            found,
            other_paint=_other_paint(places, lab, middles, paint),
            rings=rings_of(dots, places),
            runs=runs_of(places),
            misplaced=misplaced(dots, places),
            merged=run_together(),
        )
        dots = with_limits(dots, places, bare_places(view, dots, places), float(panel.px_per_mm()))
        middle = turning_point(dots, places, view.px_per_mm)
        dots = replace(dots, turning_point=middle, centre_mm=middle.xy_mm)
    # Last: the map moves neighbours alike, so that nothing above counts it.
    return on_the_panel(replace(dots, arrangement=found), panel)


def with_names(dots: Dots, paints: Paints) -> Dots:
    """The dots with their paints named from the painter's list."""
    old = dots.arrangement
    if old is None or not old.paints:
        return dots
    count = np.array([float(p.count) for p in old.paints])
    names = named(np.array([p.lab for p in old.paints]), count, paints)
    both = zip(old.paints, names, strict=True)
    new = tuple(replace(p, name=n[0], unlike=n[1]) if n else p for p, n in both)
    return replace(dots, arrangement=replace(old, paints=new))


def _other_paint(places: Places, lab: Floats, middles: Floats, paint: NDArray[np.int64]) -> tuple[OtherPaint, ...]:
    """Dots that are surely of another paint than nearly all their like."""
    found = []
    for row in places.dot:
        mine = row[row >= 0]
        if len(mine) < 3:
            continue
        counts = np.bincount(paint[mine], minlength=len(middles))
        usual = int(counts.argmax())
        if counts[usual] < ONE_PAINT_SHARE * len(mine):
            continue
        odd = mine[paint[mine] != usual]
        far = ciede2000(lab[odd], middles[usual][None]) > UNLIKE
        near = ciede2000(lab[odd], middles[paint[odd]]) < LIKE
        found += [OtherPaint(int(i), int(paint[i]), usual) for i in odd[far & near]]
    return tuple(found)
