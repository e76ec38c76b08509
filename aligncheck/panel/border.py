"""From a border drawn along the panel's sides, taken for some of them, to the sides themselves."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.candidates import Candidate, Search, refine
from aligncheck.panel.ground import INSIDE_MM, ground_beyond_sides
from aligncheck.panel.nested import nested_outlines
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.ridge import ridges
from aligncheck.panel.segments import Lines
from aligncheck.panel.trust import trusted

Floats = NDArray[np.float64]

#: Outlines nearer than this (view pixels) count as one in the search, so that the border's may hide the panel's.
HIDDEN_PX = 24.0
#: Lines nearer than this are the side's own flanks.
FLANK_PX = 2.0
#: Lines beside a side lie along it within this cosine.
ALONG = 0.99
#: A side may look like a line by chance (a bright rim between two like surfaces), two hardly.
BY_CHANCE = 1
#: So many sides that are chalk lines are a border's: raw edges are as light, at the two sides that face the camera.
BORDERED = 3
#: Least score of an outline around the border.
LEAST = 4.5
#: A side that is no line may lie this much further in (mm) once the others have moved.
STAYS_MM = 1.0


def lines_outside(corners: Floats, pool: Lines, centre_px: tuple[float, float]) -> bool:
    """Whether a line of the pool runs close outside a side of an outline (4, 2) in the view, along it."""
    middle = corners.mean(0)
    for first, second in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        along = (second - first) / np.linalg.norm(second - first)
        outward = np.array([along[1], -along[0]])
        outward *= np.sign(outward @ (first - middle))
        cosine = pool.normal @ outward
        with np.errstate(divide="ignore"):
            apart = np.stack([(pool.rho - pool.normal @ (end - centre_px)) / cosine for end in (first, second)])
        beside = (np.abs(cosine) > ALONG) & (apart.min(0) > FLANK_PX) & (apart.max(0) < HIDDEN_PX)
        if beside.any():
            return True
    return False


def with_ground(search: Search, candidate: Candidate) -> Candidate:
    """The candidate, its sides tested for the panel's ground beyond them: costs little even in plain cases."""
    ground = ground_beyond_sides(search.photo.rgb, candidate.fit.panel(search.width_mm, search.height_mm))
    return candidate._replace(evidence=candidate.evidence._replace(ground_mm=ground))


def drawn_on_panel(candidate: Candidate) -> bool:
    """Whether the outline is a border's, more than chance makes sides look like lines."""
    return candidate.evidence.lines > BY_CHANCE


def around_border(search: Search, candidate: Candidate) -> Candidate | None:
    """The most trusted outline around a candidate whose sides are partly a border's; None where none is trusted."""
    inner = candidate.fit.panel(search.width_mm, search.height_mm)
    reach_mm = HIDDEN_PX * search.view.reduction / float(inner.px_per_mm())
    size = np.array([search.width_mm, search.height_mm])
    wide_px = inner.to_photo(nominal_corners(*(size + 2 * reach_mm)))
    wide = Panel.from_corners(search.width_mm, search.height_mm, candidate.fit.lens, wide_px)
    # The widened outline's millimetres are larger than the panel's.
    shrunk = float((size / (size + 2 * reach_mm)).max())
    deepest = tuple(
        (reach_mm + (STAYS_MM if ground is None else -ground)) * shrunk for ground in candidate.evidence.ground_mm
    )
    finds = nested_outlines(
        search.photo.rgb,
        wide,
        depth=(reach_mm + INSIDE_MM[1]) * shrunk / float(size.min()),
        given=False,
        lines_out=False,
        least=LEAST,
        deepest_mm=deepest,
    )
    outer = [refine(search, f.corners_px, f.score, "nested") for f in finds]
    believed = [c for c in outer if c and trusted(c, search.unit) and not drawn_on_panel(c)]
    return max(believed, key=lambda c: c.trust, default=None)


def hides_sides(search: Search, candidate: Candidate) -> bool:
    """Whether the outline is that of chalk lines so near to the sides that these were not seen beside them."""
    return ridges(search.photo.rgb, candidate.fit.panel(search.width_mm, search.height_mm)) >= BORDERED
