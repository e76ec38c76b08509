"""Glare: where the panel itself shines brighter than its paint, and which spokes lie under it."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.advice.gain import Gain
from aligncheck.drift import Drift
from aligncheck.geometry.angles import outward
from aligncheck.geometry.small import median
from aligncheck.panel import Panel, flat_view
from aligncheck.photo import Photo
from aligncheck.units import clock

Floats = NDArray[np.float64]

#: Resolution, px per mm, and the size of what is taken off as marks, mm.
SCALE, MARKS_MM = 1.0, 7
#: Ground this many times as light as usual, and this light at all (linear, 1 is white), shines.
TIMES, LEAST = 2.0, 0.06
#: Share of a spoke that must lie in it, and how much less sure than the others it then is.
SHARE, LESS_SURE = 0.3, 1.3


def ground_light(photo: Photo, panel: Panel) -> tuple[Floats, Floats]:
    """The panel's ground without its marks in linear light (h, w), and the pixel of its origin (2,)."""
    view = flat_view(photo.grey, panel, SCALE)
    blurred = cv2.blur(view.image, (3, 3))
    # Marks are narrow and light on dark or dark on light: opening and closing take both away.
    kernel = np.ones((MARKS_MM, MARKS_MM), np.uint8)
    ground = cv2.morphologyEx(cv2.morphologyEx(blurred, cv2.MORPH_OPEN, kernel), cv2.MORPH_CLOSE, kernel)
    return (np.asarray(ground, float) / 255.0) ** 2.2, np.asarray(view.origin_px, float)


def less_glare(photo: Photo, drift: Drift) -> Gain | None:
    """What a photo without glare would do for the spokes under it; spokes that glare hides count as lost."""
    if not drift.spokes:
        return None
    light, origin = ground_light(photo, drift.marks.panel)
    shines = light > max(TIMES * median(light), LEAST)
    if shines.mean() < 0.005:
        return None
    u95 = np.array([s.move_u95_mm for s in drift.spokes])
    under = np.array([_share(shines, origin, s.spoke.inner_mm, s.spoke.outer_mm) for s in drift.spokes]) > SHARE
    bad = under & (u95 > LESS_SURE * median(u95[~under])) if (~under).any() else np.zeros(len(u95), bool)
    lost = _lost(drift, shines, origin)
    if not bad.any() and not lost:
        return None
    angles = sorted([float(a) for a in np.array([s.ideal_deg for s in drift.spokes])[bad]] + lost)
    others = median(u95[~bad])
    # A spoke that is not seen at all is as unsure as its whole tolerance.
    now = median(u95[bad]) if bad.any() else max(drift.tolerance_mm, 2 * others)
    return Gain("advice_glare", now, others, {"where": _where(angles)})


def _share(shines: NDArray[np.bool_], origin: Floats, inner: Floats, outer: Floats) -> float:
    """Share of the line that lies in the glare."""
    t = np.linspace(0, 1, 40)[:, None]
    places = np.rint((inner + t * (outer - inner)) * SCALE + origin).astype(int)
    height, width = shines.shape
    return float(shines[np.clip(places[:, 1], 0, height - 1), np.clip(places[:, 0], 0, width - 1)].mean())


def _lost(drift: Drift, shines: NDArray[np.bool_], origin: Floats) -> list[float]:
    """Bearings of places without a spoke where glare lies."""
    segments, rotation = drift.layout.segments, drift.rotation_deg
    if not segments or rotation is None:
        return []
    centre = np.array(drift.centre_mm)
    reach = median([float(np.linalg.norm(s.spoke.outer_mm - centre)) for s in drift.spokes])
    found = {round((s.ideal_deg - rotation) * segments / 360) % segments for s in drift.spokes}
    lost = []
    for k in set(range(segments)) - found:
        bearing = (rotation + 360 * k / segments) % 360
        if _share(shines, origin, centre, centre + reach * outward(bearing)) > SHARE:
            lost.append(bearing)
    return lost


def _where(angles: list[float]) -> str:
    """ "at 4 o'clock", or "from 3 o'clock to 5 o'clock" round the shorter way."""
    if len(angles) == 1:
        return f"at {clock(angles[0])}"
    gaps = np.diff([*angles, angles[0] + 360])
    first = (int(gaps.argmax()) + 1) % len(angles)
    return f"from {clock(angles[first])} to {clock(angles[first - 1])}"
