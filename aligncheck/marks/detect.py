"""What is drawn, and roughly where: polarity, centre, number of places, bearings, rings, construction lines."""

from math import gcd
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import MarksError
from aligncheck.geometry.angles import bearing, clockwise, wrap
from aligncheck.geometry.small import median
from aligncheck.marks.count import Comb, count_places, near_corners
from aligncheck.marks.detection import Detection
from aligncheck.marks.diagonals import measure_diagonals, measure_midlines
from aligncheck.marks.directions import Peaks, find_peaks
from aligncheck.marks.marks import Line
from aligncheck.marks.polar import ANGLES, EDGE, Polar, polar
from aligncheck.marks.ring_candidates import ring_candidates
from aligncheck.marks.small_view import small_flat_view
from aligncheck.marks.stroke_width import stroke_width
from aligncheck.marks.votes import light_share, vote_centre
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo
from aligncheck.strokes import Ridges, ridges

Floats = NDArray[np.float64]

#: Once the centre has moved by this share of the shorter side, everything about it is looked at again.
MOVED = 0.005
#: A layout is believed when its places earn this share of what a perfect one would.
BELIEVED = 0.12
#: A hand's spoke rarely stands this far off its place.
OFF_COMB_DEG = 1.0
#: Spokes run on past the outermost ring by about this part of its radius.
PAST_RINGS = 1.05
#: No layout reaches nearer to the panel's sides than this part of the way.
LARGEST_SHARE = 0.95
#: Between paint, the gaps look like dark strokes: nearer to even than this both shades are tried, unless the first
#: earns this share.
DOUBTFUL, PLAIN = 0.22, 0.8


class _Reading(NamedTuple):
    """What the ridges say, taken as light or as dark strokes."""

    light: bool
    centre_mm: Floats
    laid_out: Polar
    peaks: Peaks
    comb: Comb


def detect(photo: Photo, panel: Panel, segments: int | None = None) -> Detection:
    """Find the layout on the panel, roughly.

    Parameters
    ----------
    photo : Photo
    panel : Panel
    segments : int or None
        The number of places, where the painter gave it.

    Raises
    ------
    MarksError
        ``nothing_drawn`` where no straight strokes meet in evenly spaced bearings; ``count_contradicts`` where
        another number than the painter's is plainly drawn.
    """
    view = small_flat_view(photo.grey, panel)
    picture = ridges(*view)
    seen = _best_reading(picture, light_share(picture, view[0]), panel)
    if seen is None:
        raise MarksError("nothing_drawn")
    light, centre, laid_out, peaks, comb = seen
    if segments and segments != comb.segments:
        told = count_places(peaks, _corner_bearings(panel, centre), segments)
        if told and _contradicts(comb, told):
            raise MarksError("count_contradicts", segments=segments, seen=comb.segments)
        comb = told or comb
    cornered = near_corners(peaks, _corner_bearings(panel, centre))
    crossed = _may_be_midlines(peaks)
    reach, outermost = _reach(laid_out, peaks, comb, cornered)
    rings = ring_candidates(laid_out, _outermost_mm(panel, centre, reach))
    if (cornered[comb.peak] | (comb.peak < 0)).all() and len(rings):
        # All spokes may lie under construction lines, which run on to the corners; rings do not.
        reach = outermost = min(reach, PAST_RINGS * float(rings[-1]))
    directions = _directions(peaks, comb, cornered, reach)
    strengths = np.where(comb.peak >= 0, peaks.strength[comb.peak] / comb.unit, 0.0)
    width = stroke_width(photo.grey, panel, centre, directions, strengths, reach, light)
    midlines: tuple[Line, ...] = ()
    if crossed.any():
        within = _within_midlines(laid_out, peaks, comb, cornered, crossed, rings)
        midlines = measure_midlines(photo.grey, panel, centre, within[1], width, light)
        if midlines:
            reach, outermost = within
            directions = _directions(peaks, comb, cornered | crossed, reach)
            width = stroke_width(photo.grey, panel, centre, directions, strengths, reach, light)
    return Detection(
        light=light,
        centre_mm=centre,
        segments=comb.segments,
        phase_deg=comb.phase_deg,
        directions_deg=directions,
        strengths=strengths,
        ring_radii_mm=rings,
        diagonals=measure_diagonals(photo.grey, panel, centre, outermost, width, light),
        reach_mm=reach,
        outermost_mm=outermost,
        stroke_mm=width,
        others_deg=_others(peaks, comb),
        rival=None if segments else comb.rival,
        midlines=midlines,
    )


def _contradicts(seen: Comb, told: Comb) -> bool:
    """Whether all places of one count are plainly drawn, and of the painter's not even half.

    A part of the places may be drawn first, or lines between them: then one count is a part of the other.
    """
    if gcd(seen.segments, told.segments) in (seen.segments, told.segments):
        return False
    return seen.score > PLAIN * seen.segments and int((told.peak >= 0).sum()) < told.segments / 2


def _best_reading(picture: Ridges, share: float, panel: Panel) -> _Reading | None:
    """The layout as light or as dark strokes, whichever is drawn more plainly; None where neither is.

    `share` is how much of the picture's sharpest strokes is light, 0 to 1.
    """
    light = share >= 0.5
    first = _about_centre(picture if light else picture.negated(), panel, light)
    plain = first is not None and first.comb.score > PLAIN * first.comb.segments
    readings = [first]
    if abs(share - 0.5) < DOUBTFUL and not plain:
        readings.append(_about_centre(picture.negated() if light else picture, panel, not light))
    believed = [r for r in readings if r is not None and r.comb.score > BELIEVED * r.comb.segments]
    return max(believed, key=lambda r: r.comb.unit * r.comb.score / r.comb.segments, default=None)


def _about_centre(picture: Ridges, panel: Panel, light: bool) -> _Reading | None:
    """Centre, lattice, straight strokes and comb; twice where the first centre was some way off."""
    short = min(panel.width_mm, panel.height_mm)
    centre = vote_centre(picture, short)
    reading = None
    for _ in range(2):
        laid_out = polar(picture, panel, centre)
        peaks = find_peaks(laid_out, short / 2)
        comb = count_places(peaks, _corner_bearings(panel, centre))
        if comb is None:
            break
        reading = _Reading(light, centre, laid_out, peaks, comb)
        moved = _meeting_point(peaks, comb)
        if np.hypot(*moved) < MOVED * short:
            break
        centre = centre + moved
    return reading


def _within_midlines(
    laid_out: Polar,
    peaks: Peaks,
    comb: Comb,
    cornered: NDArray[np.bool_],
    crossed: NDArray[np.bool_],
    rings: Floats,
) -> tuple[float, float]:
    """Where the spokes end, middle and last, if all that is `crossed` runs on to the sides."""
    taken = comb.peak[comb.peak >= 0]
    both = cornered | crossed
    if (~both[taken]).sum() >= 2:
        return _reach(laid_out, peaks, comb, both)
    # Strokes to the corners may be spokes, or diagonals that run on beyond any.
    reach, outermost = _reach(laid_out, peaks, comb, crossed)
    if outermost > LARGEST_SHARE * laid_out.radii_mm[-1] and len(rings):
        return (min(reach, PAST_RINGS * float(rings[-1])),) * 2
    return reach, outermost


def _may_be_midlines(peaks: Peaks) -> NDArray[np.bool_]:
    """Whether each peak (n,) may be half of a line from side to side: square to the sides, its other half seen."""
    square = near_corners(peaks, np.array([0.0, 90.0, 180.0, 270.0]))
    quarter = np.round(peaks.bearing_deg / 90.0).astype(int) % 4
    both = np.isin((quarter + 2) % 4, quarter[square])
    return np.asarray(square & both, bool)


def _corner_bearings(panel: Panel, centre: Floats) -> Floats:
    return bearing(nominal_corners(panel.width_mm, panel.height_mm) - centre)


def _outermost_mm(panel: Panel, centre: Floats, reach_mm: float) -> float:
    """No ring is larger: whole circles fit the panel, arcs end not far beyond the spokes."""
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    return max(1.25 * reach_mm, float((half - np.abs(centre)).min() * (1 - 2 * EDGE)))


def _meeting_point(peaks: Peaks, comb: Comb) -> Floats:
    """Where the comb's lines pass nearest to, seen from the present centre (2,)."""
    i = comb.peak[comb.peak >= 0]
    normals, weights = clockwise(peaks.bearing_deg[i]), np.minimum(peaks.strength[i] / comb.unit, 1.0)
    matrix = (normals * weights[:, None]).T @ normals + 0.05 * np.eye(2)
    return np.asarray(np.linalg.solve(matrix, (normals * (weights * peaks.pass_mm[i])[:, None]).sum(0)), float)


def _directions(peaks: Peaks, comb: Comb, cornered: NDArray[np.bool_], reach_mm: float) -> Floats:
    """Bearing of each place's stroke about the centre at the middle of its length; nan where none."""
    bent = peaks.bearing_deg + np.degrees(np.arcsin(np.clip(peaks.pass_mm / (0.6 * reach_mm), -0.5, 0.5)))
    places = comb.phase_deg + 360.0 / comb.segments * np.arange(comb.segments)
    taken = comb.peak >= 0
    # A stroke to a corner that stands off the comb is construction: the spoke is looked for at its place.
    construction = taken & cornered[comb.peak] & (np.abs(wrap(bent[comb.peak] - places)) > OFF_COMB_DEG)
    found = np.where(taken, bent[comb.peak], np.nan)
    return np.where(construction, places, found) % 360


def _others(peaks: Peaks, comb: Comb) -> Floats:
    """Bearings of straight strokes that are at no place and strong enough to disturb."""
    rest = peaks.strength > 0.2 * comb.unit
    rest[comb.peak[comb.peak >= 0]] = False
    return peaks.bearing_deg[rest]


def _reach(laid_out: Polar, peaks: Peaks, comb: Comb, cornered: NDArray[np.bool_]) -> tuple[float, float]:
    """Where the layout's spokes end, on the lattice: the middle one of their ends, and the last."""
    taken = comb.peak[comb.peak >= 0]
    # Construction lines run on to the corners; they tell where the layout ends only if there is nothing else.
    free = taken[~cornered[taken]]
    taken = free if len(free) >= 2 else taken
    radii, rows = laid_out.radii_mm, np.arange(len(laid_out.radii_mm))
    ends = []
    for i in taken:
        turn = np.degrees(np.arcsin(np.clip(peaks.pass_mm[i] / radii, -1, 1)))
        columns = np.round((peaks.bearing_deg[i] + turn) * ANGLES / 360).astype(int)
        seen = np.max([laid_out.radial[rows, (columns + k) % ANGLES] for k in (-1, 0, 1)], axis=0)
        # Bare ground lowers the sum, a stroke raises it: from its lowest on, the sum is highest where the stroke ends.
        total = np.cumsum(np.minimum(seen / laid_out.strong_radial, 1.0) - 0.35)
        ends.append(radii[int(np.argmax(total - np.minimum.accumulate(total)))])
    return median(ends), float(np.max(ends))
