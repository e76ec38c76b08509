"""The later stages of a piece: which one a photo shows, and what is measured there."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift, measure_drift
from aligncheck.errors import MarksError
from aligncheck.layout import Layout
from aligncheck.marks import Centre, Marks
from aligncheck.marks.find import find_marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.rows.traces import Traces, traces
from aligncheck.side_by_side import beside
from aligncheck.stage import Stage

if TYPE_CHECKING:
    # Most photos show marks alone and never load the rest.
    from aligncheck.centrepiece import Centrepiece, Clear
    from aligncheck.dots import Dots
    from aligncheck.repeat import Look, Repeat
    from aligncheck.rows import Rows

    BegunLook = Callable[[], Look | None]

#: A blot of chalk lies this near to a petal's outline, mm, beside half its own width.
BLOT_MM = 1.2
#: Of fewer kinds of dots than this it is asked whether they are blots of chalk.
FEW = 6
#: What known dots fill by more than this share is painted, not laid there: a piece hides what it lies on. Three patches
#: that were taken for pieces were filled by 0.47 to 0.93, a piece by none.
PAINTED_SHARE = 0.25
#: Paints by name, each CIELAB (3,).
Paints = Mapping[str, NDArray[np.float64]]


class Later(NamedTuple):
    """What was traced and painted; None where the photo shows no such thing."""

    stage: Stage | None = None
    rows: "Rows | None" = None
    repeat: "Repeat | None" = None
    dots: "Dots | None" = None
    notes: tuple[Note, ...] = ()


def marks_or_repeat(photo: Photo, panel: Panel, segments: int | None) -> Marks:
    """The marks; on a piece without any, the centre that its pattern turns about.

    Raises
    ------
    MarksError
        Where nothing is drawn and nothing repeats.
    """
    try:
        return find_marks(photo, panel, segments=segments)
    except MarksError as error:
        if error.code != "nothing_drawn":
            raise
        from aligncheck.repeat import find_unmarked

        found = find_unmarked(photo, panel)
        if found is None:
            raise
    centre, repeat = found
    middle = Centre(centre.xy_mm, centre.covariance, "repeat")
    return Marks(panel, middle, None, segments or repeat.order or 0, (), (), notes=(Note("centre_by_repeat"),))


def named_paints(paints: Paints | str | Path | None) -> Paints | None:
    """The painter's list of paints, read where a path is given."""
    if paints is None or not isinstance(paints, str | Path):
        return paints
    from aligncheck.dots import read_paints

    return read_paints(paints)


def later_stages(
    photo: Photo,
    drift: Drift,
    stage: Stage | None = None,
    paints: Paints | None = None,
) -> Later:
    """Look for rows and paint on a panel whose marks are known; how they repeat is asked by `with_repeat`.

    Parameters
    ----------
    stage : str, optional
        Look for what belongs to this stage only, and closely; else the photo tells.
    paints : dict of name to CIELAB (3,), optional
        By which the colours of dots are named.
    """
    if stage in ("marked", "arranged"):
        return Later()
    # One cheap look tells whether either search is worth its time; what is asked for needs none.
    seen = traces(photo, drift.marks) if stage is None else None
    rows = _rows(photo, drift, stage, seen)
    dots = _paint(photo, drift, stage, seen, rows)
    if dots and not rows and not stage and len(dots.dots) < FEW * dots.order:
        # So few may be blots where petals cross, in chalk too heavy for the cheap look.
        rows = _rows(photo, drift, stage, None)
        dots = dots if rows is None or _is_paint(dots, drift, rows) else None
    if dots and paints:
        from aligncheck.dots import with_names

        dots = with_names(dots, paints)
    unmarked = drift.marks.centre.source == "repeat"
    painted = dots or stage == "painted" or (unmarked and not rows)
    shown: Stage | None = "painted" if painted else "rows" if rows else None
    notes = (*(dots.notes if dots else ()), *(rows.notes if rows else ()))
    return Later(shown, rows, None, dots, notes)


def beside_paint(photo: Photo, drift: Drift, later: Later, ideal: Layout) -> Drift:
    """The drift of what shows of the marks beside painted dots; `ideal` as the painter gave it."""
    if later.dots is None:
        return drift
    from aligncheck.dots import marks_beside

    return measure_drift(marks_beside(photo, drift.marks, later.dots, ideal.segments), ideal)


def repeat_begun(photo: Photo, panel: Panel, later: Later) -> "BegunLook | None":
    """A look around what painted dots turn about, begun beside what follows: it needs no marks."""
    if later.dots is None:
        return None
    from aligncheck.repeat import look_around

    return beside(partial(look_around, photo, panel, later.dots.centre_mm))


def no_paint(lies: "Centrepiece | Clear | None", later: Later) -> "Centrepiece | Clear | None":
    """What lies on the panel, unless that is a patch of painted dots."""
    from aligncheck.centrepiece import Centrepiece

    if later.dots is None or not isinstance(lies, Centrepiece):
        return lies
    from aligncheck.dots.filled import filled_share

    return None if filled_share(later.dots, lies.pieces_mm) > PAINTED_SHARE else lies


def with_repeat(
    later: Later,
    photo: Photo,
    drift: Drift,
    piece: "Centrepiece | None" = None,
    look: "BegunLook | None" = None,
) -> Later:
    """The later stages with how the pattern repeats; what lies on the panel, `piece`, need not repeat with it."""
    if later.stage is None:
        return later
    repeat = repeat_on(photo, drift, piece, later.dots, look)
    return later._replace(repeat=repeat, notes=(*later.notes, *repeat.notes))


def _paint(photo: Photo, drift: Drift, stage: Stage | None, seen: Traces | None, rows: "Rows | None") -> "Dots | None":
    """The painted dots, where a cheap look sees as many round things as one a segment.

    Blots where chalk crosses are round too: dots count as paint only where neither marks nor petals explain them.
    """
    marks = drift.marks
    order = drift.layout.segments or marks.segments
    if stage == "rows" or not order:
        return None
    if seen and marks.centre.source != "repeat" and not seen.dots_likely(order):
        return None
    from aligncheck.dots import find_dots

    dots = find_dots(photo, marks, order, drift.centre_mm)
    if not dots or stage:
        return dots
    return dots if _is_paint(dots, drift, rows) else None


def _is_paint(dots: "Dots", drift: Drift, rows: "Rows | None") -> bool:
    """Whether dots are more than blots that marks and petals explain."""
    from aligncheck.dots.unexplained import is_paint

    return is_paint(dots, drift.marks, _beside_petals(dots, rows) if rows else None)


def _beside_petals(dots: "Dots", rows: "Rows") -> NDArray[np.bool_]:
    """Which dots lie clear of every petal's outline."""
    from aligncheck.rows.outlines import to_outlines_mm

    reach = np.array([d.diameter_mm for d in dots.dots]) / 2 + BLOT_MM
    return np.asarray(to_outlines_mm(rows, np.array([d.centre_mm for d in dots.dots])) > reach, bool)


def _rows(photo: Photo, drift: Drift, stage: Stage | None, seen: Traces | None) -> "Rows | None":
    """The rows of petals, where a cheap look sees strokes beside the marks."""
    if stage == "painted" or (seen and not seen.rows_likely):
        return None
    from aligncheck.rows import find_petals

    return find_petals(photo, drift, insist=True)


def repeat_on(
    photo: Photo,
    drift: Drift,
    piece: "Centrepiece | None" = None,
    dots: "Dots | None" = None,
    look: "BegunLook | None" = None,
) -> "Repeat":
    """The repeat test about the layout's centre, or the dots' own, beyond what lies on it."""
    from aligncheck.repeat import find_repeat

    marks = drift.marks
    # A mark that paint hides may be taken for another; dots know what they turn about.
    centre = np.array(drift.centre_mm) if dots is None else dots.centre_mm
    pieces = piece.pieces_mm if piece is not None else ()
    return find_repeat(photo, marks.panel, centre, drift.layout.segments, marks.diagonals, pieces, marks, look)
