"""Places where a segment is unlike the others, as a ranked list and as heat."""

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.repeat.consensus import Floats, Segments
from aligncheck.repeat.even import UNLIKE_BARE, unlike_colours
from aligncheck.repeat.repeat import Departure, Heat, OneSided
from aligncheck.repeat.unrolled import INNERMOST_MM, STEP_MM

Indices = NDArray[np.intp]

#: Heat from which on a place is part of a departure (CIELAB).
LEAST_HEAT = 1.0
#: The least area of one where it is half as hot as its hottest place, mm^2. Smoothing spreads a point over ten; what is
#: smaller than half of that is noise.
LEAST_AREA_MM2 = 5.0
#: Its hottest place is as much again beyond what an eye can just see: on faultless pieces drawn by a hand that strays
#: by 0.3 mm the hottest place reached 1.9.
LEAST_PEAK = 2.3
#: A departure is told to be too little or too much paint where so much of it is.
MOSTLY = 0.6
#: So many are listed.
MOST = 20


def heat_of(segments: Segments) -> Heat:
    """All segments' departures round the centre, smoothed over a millimetre."""
    radii, order, columns = segments.unlike.shape
    ring = segments.unlike.reshape(radii, order * columns)
    wide = np.concatenate([ring[:, -8:], ring, ring[:, :8]], 1)
    smooth = cv2.GaussianBlur(wide, (0, 0), 1.0)[:, 8:-8]
    return Heat(np.ascontiguousarray(smooth), INNERMOST_MM, STEP_MM, segments.columns_deg / 2)


def departures_of(segments: Segments, heat: Heat, centre_mm: Floats) -> tuple[Departure, ...]:
    """The connected places of the heat, those first that are largest and most unlike."""
    _, order, columns = segments.unlike.shape
    count, labels = _places(heat)
    cell = np.radians(segments.columns_deg) * segments.radii_mm[:, None] * STEP_MM * np.ones_like(heat.values)
    peaks = np.zeros(count)
    np.maximum.at(peaks, labels.ravel(), heat.values.ravel())
    # Straying and smoothing spread what departs; half its heat is where its own edge lies.
    halves = np.bincount(labels.ravel(), (cell * (heat.values > peaks[labels] / 2)).ravel(), count)
    big = [k for k in range(1, count) if halves[k] >= LEAST_AREA_MM2 and peaks[k] >= LEAST_PEAK]
    big.sort(key=lambda k: -float((heat.values * cell)[labels == k].sum()))
    found = []
    for k in big[:MOST]:
        rows, places = np.nonzero(labels == k)
        weight = (heat.values * cell)[rows, places]
        radius = float(np.average(segments.radii_mm[rows], weights=weight))
        turn = np.exp(1j * np.radians(heat.first_deg + places * segments.columns_deg))
        angle = float(np.degrees(np.angle((turn * weight).sum())) % 360)
        mine = segments.lab[rows, places // columns, places % columns].mean(0)
        theirs = segments.consensus[rows, places % columns].mean(0)
        segment = int(angle / (360.0 / order)) % order + 1
        place = centre_mm + radius * outward(angle)
        apart = float(ciede2000(mine, theirs))
        paint = _paint(segments, rows, places, weight)
        found.append(Departure(segment, place, radius, angle, float(halves[k]), apart, paint))
    return tuple(found)


def _places(heat: Heat) -> tuple[int, Indices]:
    """Connected places (radii, angles) by number, and how many numbers there are; across 12 o'clock they are one."""
    count, labels = cv2.connectedComponents((heat.values > LEAST_HEAT).astype(np.uint8))
    for first, last in zip(labels[:, 0], labels[:, -1], strict=True):
        if first and last and first != last:
            labels[labels == last] = first
    return count, labels.astype(np.intp)


def _paint(segments: Segments, rows: Indices, places: Indices, weight: Floats) -> Literal["less", "more", "other"]:
    """What differs at most of these places, each with its weight."""
    columns = segments.unlike.shape[2]
    bare = segments.bare[rows, places % columns]
    mine = unlike_colours(segments.lab[rows, places // columns, places % columns], bare) > UNLIKE_BARE
    theirs = unlike_colours(segments.consensus[rows, places % columns], bare) > UNLIKE_BARE
    least = MOSTLY * weight.sum()
    if weight[theirs & ~mine].sum() > least:
        return "less"
    return "more" if weight[mine & ~theirs].sum() > least else "other"


def one_sided_of(segments: Segments) -> tuple[OneSided, ...]:
    """Connected places of one flank that the other lacks, the largest first; of such a pair the one that stands out."""
    columns = segments.one_sided.shape[1]
    wide = np.tile(segments.one_sided, (1, 3))
    smooth = cv2.GaussianBlur(wide, (0, 0), 1.0)
    count, labels = cv2.connectedComponents((smooth > LEAST_HEAT).astype(np.uint8))
    cell = np.radians(segments.columns_deg) * segments.radii_mm[:, None] * STEP_MM * np.ones_like(wide)
    image = segments.mirror.reflected(segments.consensus)
    axis = segments.mirror.twice / 2
    found = []
    for k in range(1, count):
        rows, places = np.nonzero(labels == k)
        middle = float(np.average(places, weights=smooth[rows, places]))
        area = float(cell[rows, places].sum())
        # Three segments were laid side by side so that none is cut; the middle one is told.
        if not columns <= middle < 2 * columns or area < LEAST_AREA_MM2:
            continue
        here, there = (side[rows, places % columns].mean(0) for side in (segments.consensus, image))
        bare = np.median(segments.consensus[~segments.painted], axis=0) if (~segments.painted).any() else np.zeros(3)
        if np.linalg.norm(here - bare) < np.linalg.norm(there - bare):
            continue
        off = ((middle - axis + columns / 4) % (columns / 2) - columns / 4) * segments.columns_deg
        radius = float(np.average(segments.radii_mm[rows], weights=smooth[rows, places]))
        found.append(OneSided(radius, off, area, float(ciede2000(here, there))))
    return tuple(sorted(found, key=lambda one: -one.area_mm2 * one.colour)[:MOST])
