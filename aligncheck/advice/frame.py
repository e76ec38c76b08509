"""Distance and tilt: does the panel fill the picture, was it seen from above?"""

import numpy as np

from aligncheck.advice.budget import Budget
from aligncheck.advice.gain import Gain
from aligncheck.geometry.small import median
from aligncheck.marks import Marks
from aligncheck.photo import Photo

#: A panel that a person frames with care fills so much of the picture's tighter direction.
FILLED = 0.92
#: A stroke so many px wide is measured as well as its grain allows; wider ones gain nothing.
STROKE_PX = 4.0
#: Going closer by less than this is not worth a word.
CLOSER = 1.25
#: Tilts that count, degrees; up to there a side is shortened by a tenth at most.
TILT_DEG = 25.0


def fill_frame(photo: Photo, marks: Marks, budget: Budget) -> Gain | None:
    """What going closer would do."""
    corners = marks.panel.corners_px
    extent = np.ptp(corners, axis=0) / (photo.width_px, photo.height_px)
    closer = FILLED / float(extent.max())
    if closer < CLOSER:
        return None
    width_mm = median([s.width_mm for s in marks.spokes] or [r.width_mm for r in marks.rings] or [1.0])
    stroke_px = max(width_mm, 0.3) * float(marks.panel.px_per_mm())
    sharper = float(np.clip(STROKE_PX / stroke_px, 1.0, closer))
    then = budget.if_better(map_times=closer, own_times=sharper)
    return Gain("advice_fill_frame", budget.total_mm, then, {"filled": round(100 * float(extent.max()))})


def look_from_above(marks: Marks, budget: Budget) -> Gain | None:
    """What standing over the panel would do: tilted, its far side is seen shortened."""
    x, y, z = marks.panel.camera_position_mm
    tilt = float(np.arctan2(np.hypot(x, y), z))
    if np.degrees(tilt) < TILT_DEG:
        return None
    then = budget.if_better(map_times=1 / np.cos(tilt), own_times=1 / np.sqrt(np.cos(tilt)))
    return Gain("advice_tilted", budget.total_mm, then, {"tilt": round(np.degrees(tilt))})
