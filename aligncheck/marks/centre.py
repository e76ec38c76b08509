"""The centre mark: two construction lines that cross, or the short cross left of them, or the spokes' meeting point."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing
from aligncheck.marks.arms import Arm, blank, cut_patch, find_arm
from aligncheck.marks.chalk import Chalk
from aligncheck.marks.detection import Detection
from aligncheck.marks.marks import Centre, Line, Ring
from aligncheck.marks.meeting import crossing, spokes_meet
from aligncheck.marks.spoke_set import SpokeSet
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A centre's cross is some millimetres long, whatever the panel.
ARM_MM = 9.0
#: Share of that length that must carry chalk to be an arm, and the most that another offset may score beside it.
LEAST_SHARE, MOST_RIVAL = 0.16, 0.35
#: What remains unknown of an arm beyond its rows' scatter: the hand's own bend over some millimetres.
ARM_SD_MM = 0.012
#: However well the spokes agree, a stencil may have lain this far from the mark.
AIM_SD_MM = 0.2


def measure_centre(
    photo: Photo, panel: Panel, detection: Detection, spokes: SpokeSet, rings: Sequence[Ring]
) -> tuple[Centre, Centre | None]:
    """The centre, and the point that the spokes pass nearest to (None without spokes that fix one)."""
    met = spokes_meet(spokes.spokes)
    meeting, aimed = met if met else (None, np.eye(2) * 1.0)
    about = meeting.xy_mm if meeting else detection.centre_mm
    chalk = Chalk(photo, panel, detection.light, spokes.mixture)
    arms = [
        arm
        for arm in (_arm(chalk, detection, spokes, rings, about, float(b), aimed) for b in _bearings(panel, detection))
        if arm is not None
    ]
    if len(detection.diagonals) == 2 and arms:
        point, covariance = crossing(*detection.diagonals)
        return Centre(point, covariance, "mark"), meeting
    if not arms:
        return Centre(about, aimed, "spokes" if meeting else "repeat"), meeting
    return _joined(about, aimed, arms), meeting


def _bearings(panel: Panel, detection: Detection) -> list[float]:
    """Directions in which construction lines run: measured diagonals, else from corner to corner."""
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    plain = [float(bearing(corners[k + 2] - corners[k])) for k in (0, 1)]
    drawn = [line.angle_deg for line in detection.diagonals]
    return [min(drawn, key=lambda d: abs(d - b)) if drawn and min(abs(d - b) for d in drawn) < 3 else b for b in plain]


def _arm(
    chalk: Chalk,
    detection: Detection,
    spokes: SpokeSet,
    rings: Sequence[Ring],
    about: Floats,
    bearing_deg: float,
    aimed: Floats,
) -> Arm | None:
    """The stroke along one bearing through the centre, None where none is seen."""
    width = spokes.width_mm or detection.stroke_mm
    most = float(np.clip(3 * np.sqrt(np.linalg.eigvalsh(aimed)[-1]), 0.8, 1.8))
    patch = cut_patch(chalk, about, bearing_deg, ARM_MM, most + 2.5)
    others: list[Line] = [*spokes.spokes, *spokes.others]
    others += [d for d in detection.diagonals if abs(np.sin(np.radians(d.angle_deg - bearing_deg))) > 0.2]
    patch = blank(patch, about, others, rings, 0.5 * width + 0.25)
    unit = spokes.strength or float(np.percentile(patch.values, 98) - np.median(patch.values))
    arm = find_arm(patch, width, spokes.blur_mm, max(unit, 1.0), most)
    return arm if arm is not None and arm.share >= LEAST_SHARE and arm.rival <= MOST_RIVAL else None


def _joined(about: Floats, aimed: Floats, arms: Sequence[Arm]) -> Centre:
    """Arms as measured lines, the spokes' meeting point as what is known before."""
    information = np.linalg.inv(aimed + AIM_SD_MM**2 * np.eye(2))
    pull = np.zeros(2)
    for arm in arms:
        weight = 1 / (arm.sd_mm**2 + ARM_SD_MM**2)
        information = information + weight * np.outer(arm.normal, arm.normal)
        pull = pull + weight * arm.offset_mm * arm.normal
    covariance = np.asarray(np.linalg.inv(information), float)
    return Centre(about + covariance @ pull, covariance, "mark")
