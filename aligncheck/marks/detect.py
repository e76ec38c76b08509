"""What is drawn, and roughly where: polarity, centre, number of places, bearings, rings, construction lines."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import MarksError
from aligncheck.geometry.angles import bearing, clockwise
from aligncheck.marks.count import Comb, count_places
from aligncheck.marks.detection import Detection
from aligncheck.marks.diagonals import measure_diagonals
from aligncheck.marks.directions import Peaks, find_peaks
from aligncheck.marks.polar import ANGLES, Polar, polar
from aligncheck.marks.ring_candidates import ring_candidates
from aligncheck.marks.stroke_width import stroke_width
from aligncheck.marks.votes import strokes_are_light, vote_centre
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo
from aligncheck.strokes import Ridges, ridges

Floats = NDArray[np.float64]

#: Once the centre has moved by this share of the shorter side, everything about it is looked at again.
MOVED = 0.005
#: A layout is believed when its places earn this share of what a perfect one would.
BELIEVED = 0.25


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
        ``nothing_drawn`` where no straight strokes meet in evenly spaced bearings.
    """
    picture = ridges(photo.grey, panel)
    light = strokes_are_light(picture)
    if not light:
        picture = picture.negated()
    short = min(panel.width_mm, panel.height_mm)
    centre, laid_out, peaks, comb = _about_centre(picture, panel, short, segments)
    if comb is None or comb.score < BELIEVED * comb.segments:
        raise MarksError("nothing_drawn")
    reach = _reach(laid_out, peaks, comb)
    directions = _directions(peaks, comb, reach)
    strengths = np.where(comb.peak >= 0, peaks.strength[comb.peak] / comb.unit, 0.0)
    width = stroke_width(photo.grey, panel, centre, directions, strengths, reach, light)
    return Detection(
        light=light,
        centre_mm=centre,
        segments=comb.segments,
        phase_deg=comb.phase_deg,
        directions_deg=directions,
        strengths=strengths,
        ring_radii_mm=ring_candidates(laid_out, reach),
        diagonals=measure_diagonals(photo.grey, panel, centre, reach, width, light),
        reach_mm=reach,
        stroke_mm=width,
        others_deg=_others(peaks, comb),
    )


def _about_centre(
    picture: Ridges, panel: Panel, short_mm: float, segments: int | None
) -> tuple[Floats, Polar, Peaks, Comb | None]:
    """Centre, lattice, straight strokes and comb; twice where the first centre was some way off."""
    centre = vote_centre(picture, short_mm)
    for last in (False, True):
        laid_out = polar(picture, panel, centre)
        peaks = find_peaks(laid_out, short_mm / 2)
        comb = count_places(peaks, bearing(nominal_corners(panel.width_mm, panel.height_mm) - centre), segments)
        if comb is None or last:
            break
        moved = _meeting_point(peaks, comb)
        if np.hypot(*moved) < MOVED * short_mm:
            break
        centre = centre + moved
    return centre, laid_out, peaks, comb


def _meeting_point(peaks: Peaks, comb: Comb) -> Floats:
    """Where the comb's lines pass nearest to, seen from the present centre (2,)."""
    i = comb.peak[comb.peak >= 0]
    normals, weights = clockwise(peaks.bearing_deg[i]), np.minimum(peaks.strength[i] / comb.unit, 1.0)
    matrix = (normals * weights[:, None]).T @ normals + 0.05 * np.eye(2)
    return np.asarray(np.linalg.solve(matrix, (normals * (weights * peaks.pass_mm[i])[:, None]).sum(0)), float)


def _directions(peaks: Peaks, comb: Comb, reach_mm: float) -> Floats:
    """Bearing of each place's stroke about the centre at the middle of its length; nan where none."""
    bent = peaks.bearing_deg + np.degrees(np.arcsin(np.clip(peaks.pass_mm / (0.6 * reach_mm), -0.5, 0.5)))
    return np.where(comb.peak >= 0, bent[comb.peak] % 360, np.nan)


def _others(peaks: Peaks, comb: Comb) -> Floats:
    """Bearings of straight strokes that are at no place and strong enough to disturb."""
    rest = np.setdiff1d(np.nonzero(peaks.strength > 0.2 * comb.unit)[0], comb.peak)
    return peaks.bearing_deg[rest]


def _reach(laid_out: Polar, peaks: Peaks, comb: Comb) -> float:
    """Where the layout ends: the middle one of its spokes' ends, on the lattice."""
    ends = []
    radii = laid_out.radii_mm
    strong = max(float(np.percentile(laid_out.radial, 98.5)), 1e-6)
    for i in comb.peak[comb.peak >= 0]:
        turn = np.degrees(np.arcsin(np.clip(peaks.pass_mm[i] / radii, -1, 1)))
        columns = np.round((peaks.bearing_deg[i] + turn) * ANGLES / 360).astype(int)
        rows = np.arange(len(radii))
        seen = np.max([laid_out.radial[rows, (columns + k) % ANGLES] for k in (-1, 0, 1)], axis=0)
        # Bare ground lowers the sum, a stroke raises it: the sum is highest where the stroke ends.
        ends.append(radii[int(np.argmax(np.cumsum(np.minimum(seen / strong, 1.0) - 0.35)))])
    return float(np.median(ends))
