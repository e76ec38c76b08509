"""The centre mark: lines that cross, or the short cross left of them, or a dot; else where the spokes meet."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, outward
from aligncheck.geometry.small import median, quantile
from aligncheck.marks.aim import aimed_at
from aligncheck.marks.arms import STEP_MM, Arm, blank, cut_patch, find_arm
from aligncheck.marks.chalk import Chalk
from aligncheck.marks.detection import Detection
from aligncheck.marks.dot_mark import LARGEST_MM, find_dot
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
#: Directions of a cross drawn square, and how near to them the corners' count as the same.
SQUARE, ALIKE_DEG = (135.0, 225.0), 3.0
#: However well spokes and rings agree, a stencil may have lain this far from the mark, all together. A judgement: on
#: 62 layouts with truth the spokes' scatter alone told where the mark lay, but with 0.1 one of 46 centres lay outside
#: its claim, and with 0.2 more verdicts were left open.
AIM_SD_MM = 0.15


def measure_centre(
    photo: Photo, panel: Panel, detection: Detection, spokes: SpokeSet, rings: Sequence[Ring]
) -> tuple[Centre, Centre | None]:
    """The centre, and the point that the spokes pass nearest to (None without spokes that fix one)."""
    met = spokes_meet(spokes.spokes)
    meeting, aimed = met if met else (None, np.eye(2) * 1.0)
    about = meeting.xy_mm if meeting else detection.centre_mm
    chalk = Chalk(photo, panel, detection.light, spokes.mixture)
    hidden = Centre(about, aimed, "spokes" if meeting else "repeat")
    # A dot with bare panel around it is no cross, though an arm would be seen in it.
    if not detection.construction and (dot := _at_dot(chalk, detection, spokes, rings, hidden)) is not None:
        return dot, meeting
    found = [
        [arm for b in pair if (arm := _arm(chalk, detection, spokes, rings, about, b, aimed)) is not None]
        for pair in _bearings(panel, detection)
    ]
    arms = max(found, key=lambda pair: sum(arm.share for arm in pair))
    if not arms:
        return hidden, meeting
    if len(detection.diagonals) == 2:
        point, covariance = crossing(*detection.diagonals)
        known = covariance + bend_of_crossing(panel, detection.diagonals, point, spokes.spokes)
        return _joined(about, point, known, arms), meeting
    point, aimed = aimed_at(about, aimed, rings)
    return _joined(about, point, aimed + AIM_SD_MM**2 * np.eye(2), arms), meeting


def _bearings(panel: Panel, detection: Detection) -> list[list[float]]:
    """Directions in which a cross may run, pair by pair: measured diagonals, else corner to corner; or square.

    A cross that is no rest of the diagonals is drawn square, also on a panel that is not.
    """
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    plain = [float(bearing(corners[k + 2] - corners[k])) for k in (0, 1)]
    drawn = [line.angle_deg for line in detection.diagonals]
    first = [min(drawn, key=lambda d: abs(d - b)) if drawn and min(abs(d - b) for d in drawn) < 3 else b for b in plain]
    return [first] if len(drawn) == 2 or abs(plain[0] - SQUARE[0]) < ALIKE_DEG else [first, list(SQUARE)]


def _at_dot(
    chalk: Chalk, detection: Detection, spokes: SpokeSet, rings: Sequence[Ring], centre: Centre
) -> Centre | None:
    """The dot that marks the centre, near the `centre` that the spokes tell; None where there is none."""
    if not spokes.strength:
        return None
    most = _search_mm(centre.covariance)
    half = most + LARGEST_MM
    patch = cut_patch(chalk, centre.xy_mm, 180.0, half, half, STEP_MM)
    width = spokes.width_mm or detection.stroke_mm
    lines = [*spokes.spokes, *spokes.others, *detection.construction]
    patch = blank(patch, centre.xy_mm, lines, rings, 0.5 * width + 0.25)
    dot = find_dot(patch, width, spokes.strength, most)
    if dot is None:
        return None
    place = centre.xy_mm + dot.at_mm[0] * outward(180.0) + dot.at_mm[1] * patch.normal
    return Centre(place, dot.sd_mm**2 * np.eye(2), "mark")


def _search_mm(aimed: Floats) -> float:
    """How far from where the spokes meet the mark may lie."""
    return float(np.clip(3 * np.sqrt(np.linalg.eigvalsh(aimed)[-1]), 0.8, 1.8))


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
    most = _search_mm(aimed)
    patch = cut_patch(chalk, about, bearing_deg, ARM_MM, most + 2.5)
    others: list[Line] = [*spokes.spokes, *spokes.others]
    others += [d for d in detection.construction if abs(np.sin(np.radians(d.angle_deg - bearing_deg))) > 0.2]
    patch = blank(patch, about, others, rings, 0.5 * width + 0.25)
    unit = spokes.strength or float(quantile(patch.values.ravel(), 0.98) - median(patch.values))
    arm = find_arm(patch, width, spokes.blur_mm, max(unit, 1.0), most)
    return arm if arm is not None and arm.share >= LEAST_SHARE and arm.rival <= MOST_RIVAL else None


def bend_of_crossing(panel: Panel, diagonals: Sequence[Line], point: Floats, spokes: Sequence[Line]) -> Floats:
    """Covariance (2, 2) that an unsure bend of the lens adds to where two lines cross that were fitted far out.

    The diagonals are seen beyond the layout only. A wrong bend bows them, and so their middle does not lie where their
    outer parts, carried on, would cross: by what the lines through the outer parts' displacements say, less what the
    map does to the point itself, which is told apart.
    """
    reach = max((float(np.hypot(*(s.outer_mm - point))) for s in spokes), default=0.0)
    local, rows = panel.field(point), []
    for line in diagonals:
        ends = [float((end - point) @ outward(line.angle_deg)) for end in (line.inner_mm, line.outer_mm)]
        along = np.concatenate([np.linspace(min(reach, 0.8 * abs(e)) * np.sign(e), e, 6) for e in ends])
        moved = line.across @ panel.field(point + along[:, None] * outward(line.angle_deg))
        design = np.column_stack([np.ones_like(along), along])
        rows.append(np.linalg.lstsq(design, moved, rcond=None)[0][0] - line.across @ local)
    inverse = np.linalg.inv(np.array([line.across for line in diagonals]))
    gradient = inverse @ np.array(rows)
    return np.asarray(gradient @ panel.covariance @ gradient.T, float)


def _joined(about: Floats, before: Floats, known: Floats, arms: Sequence[Arm]) -> Centre:
    """Arms as lines measured about a point; `before`, to `known` (2, 2), is what other marks say of the centre."""
    information = np.linalg.inv(known)
    pull = information @ (before - about)
    for arm in arms:
        weight = 1 / (arm.sd_mm**2 + ARM_SD_MM**2)
        information = information + weight * np.outer(arm.normal, arm.normal)
        pull = pull + weight * arm.offset_mm * arm.normal
    covariance = np.asarray(np.linalg.inv(information), float)
    return Centre(about + covariance @ pull, covariance, "mark")
