"""The front of this package: where does the piece lie now against the earlier photo?"""

from dataclasses import dataclass

import numpy as np

from aligncheck.centrepiece import Centrepiece
from aligncheck.centrepiece.outline import centroid
from aligncheck.centrepiece.plan import plan_of, seen_at
from aligncheck.drift import Drift
from aligncheck.errors import CentrepieceError
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.placement.common import Common, common_panels
from aligncheck.placement.match import Look, Views, look_of
from aligncheck.placement.outlines import Fit, fits, shift_at_turn
from aligncheck.placement.placement import Placement
from aligncheck.placement.solve import Across, solve_across
from aligncheck.placement.turns import Floats, Motion, turn_matrix

#: Height of an outer edge that nobody measured, mm, and its sd: petals of paper, wood or fabric lie 0 to 10 mm high.
EDGE_MM, EDGE_SD_MM = 5.0, 2.5
#: A given height is measured with a ruler.
GIVEN_SD_MM = 0.5
#: What two silhouettes of one piece from different sides differ by, sd, mm (it hides its own edges), and turned, rad.
OUTLINE_SD_MM, OUTLINE_TURN_SD = 0.35, 0.005
#: An outline that is left this far, mm, is another piece's, or was rearranged.
OTHER_PIECE_MM = 1.5
#: Of outlines that fit nearly as well as the best, the picture of the piece decides.
NEARLY = 2.0


@dataclass(frozen=True)
class Arranged:
    """One checked photo with a piece in it."""

    photo: Photo
    drift: Drift
    piece: Centrepiece
    name: str = "photo"


@dataclass(frozen=True)
class _Side:
    """One photo in the common frame: outline as seen, camera, panel (in its own frame), turn into the common frame."""

    arranged: Arranged
    panel: Panel
    turn: Floats

    @property
    def camera_mm(self) -> Floats:
        camera = self.panel.camera_position_mm.copy()
        camera[:2] = self.turn @ camera[:2]
        return camera

    @property
    def seen_mm(self) -> Floats:
        """Outline (n, 2) on the face, through the panel's corrected map."""
        old = self.arranged.drift.marks.panel
        pixels = old.to_photo(self.arranged.piece.outline_mm)
        return np.asarray(self.panel.to_panel(pixels) @ self.turn.T, float)

    def plan(self, height_mm: float) -> Floats:
        return plan_of(self.seen_mm, self.camera_mm, height_mm)


def find_placement(now: Arranged, earlier: Arranged, height_mm: float | None = None) -> Placement:
    """Measure how the piece was moved from the earlier photo to the present one.

    Parameters
    ----------
    now, earlier : Arranged
    height_mm : float, optional
        Height of the piece's outer edge; without it the shift along the line between the two cameras is less sure.

    Raises
    ------
    CentrepieceError
        "other_panel" where the photos show other marks, "other_piece" where the outlines do not fit each other.
    """
    common = common_panels(earlier.drift.marks, now.drift.marks, earlier.name)
    first = _Side(earlier, common.earlier, np.eye(2))
    second = _Side(now, common.now, turn_matrix(90.0 * common.quarters))
    edge, edge_sd = (EDGE_MM, EDGE_SD_MM) if height_mm is None else (height_mm, GIVEN_SD_MM)
    plan = first.plan(edge)
    pivot = centroid(plan)
    looks = [look_of(s.arranged.photo.grey, s.panel, s.turn) for s in (first, second)]
    fit = _best(fits(plan, second.plan(edge), pivot, centroid(second.plan(edge))), looks, plan, edge)
    if fit.rest_mm > OTHER_PIECE_MM:
        raise CentrepieceError("other_piece", file=earlier.name)
    parallax = _parallax(first.camera_mm, second.camera_mm, fit.motion, pivot)
    views = Views(looks[0], looks[1], plan, fit.motion, edge)
    across = solve_across(views.matches(), pivot, parallax)
    motion = fit.motion
    if across is not None:
        motion = motion.nudged(np.array([0.0, 0.0, across.turn_rad]))
        along_fit = shift_at_turn(plan, second.plan(edge), motion).motion.shift_mm
        wanted = fit.motion.shift_mm + across.shift_mm * across.normal
        along = np.array([across.normal[1], -across.normal[0]])
        # Across from the matches; along, where only the height decides, from the outlines of the edge.
        shift = (wanted @ across.normal) * across.normal + (along_fit @ along) * along
        motion = Motion(pivot, shift, motion.turn_deg)
    return _placement(motion, across, parallax, (edge, edge_sd), first, second, common)


def _best(found: list[Fit], looks: list[Look], plan: Floats, edge: float) -> Fit:
    """The best fit; among those that fit nearly as well, the one at which the two pictures look most alike."""
    limit = NEARLY * found[0].rest_mm + 0.05
    near: list[Fit] = []
    for fit in found:
        apart = [abs((fit.motion.turn_deg - o.motion.turn_deg + 180) % 360 - 180) for o in near]
        if fit.rest_mm <= limit and all(a > 3 for a in apart):
            near.append(fit)
    if len(near) < 2:
        return found[0]
    return max(near, key=lambda f: Views(looks[0], looks[1], plan, f.motion, edge).likeness())


def _parallax(first: Floats, second: Floats, motion: Motion, pivot: Floats) -> Floats:
    """How far the piece's middle seems to move per mm of height, from the first camera to the second."""
    a1 = (pivot - first[:2]) / first[2]
    a2 = (motion(pivot) - second[:2]) / second[2]
    return np.asarray(a2 - turn_matrix(motion.turn_deg) @ a1, float)


def _placement(
    motion: Motion,
    across: Across | None,
    parallax: Floats,
    edge: tuple[float, float],
    first: _Side,
    second: _Side,
    common: Common,
) -> Placement:
    """The figures with their intervals, and what to draw."""
    size = float(np.linalg.norm(parallax))
    along = parallax / size if size > 1e-6 else np.array([1.0, 0.0])
    normal = np.array([-along[1], along[0]])
    sd_across = float(np.hypot(across.shift_sd_mm if across else OUTLINE_SD_MM, common.sd_mm))
    sd_along = float(np.sqrt((edge[1] * size) ** 2 + OUTLINE_SD_MM**2 + common.sd_mm**2))
    u95 = 1.96 * np.hypot(sd_along * along, sd_across * normal)
    turn_sd = float(np.hypot(across.turn_sd_rad if across else OUTLINE_TURN_SD, 0.0015))
    turn_u95 = float(np.degrees(1.96 * turn_sd))
    back = -(second.turn.T @ motion.shift_mm)
    plan = first.plan(edge[0])
    middle = centroid(plan)
    radius = float(np.hypot(*(plan - middle).T).max())
    # The earlier plan from the present camera, in the present photo's own panel frame.
    outline = seen_at(plan, second.camera_mm, edge[0]) @ second.turn
    notes = () if across else (Note("placement_by_outline"),)
    if edge[1] == EDGE_SD_MM and float(u95.max()) > 1.0:
        notes = (*notes, Note("placement_height"))
    return Placement(
        dx_mm=float(motion.shift_mm[0]),
        dx_u95_mm=float(u95[0]),
        dy_mm=float(motion.shift_mm[1]),
        dy_u95_mm=float(u95[1]),
        turn_deg=float((motion.turn_deg + 180) % 360 - 180),
        turn_u95_deg=turn_u95,
        quarters=common.quarters,
        back_mm=(float(back[0]), float(back[1])),
        tips_mm=float(-np.radians((motion.turn_deg + 180) % 360 - 180) * radius),
        tips_u95_mm=float(np.radians(turn_u95) * radius),
        height_mm=edge[0],
        height_u95_mm=1.96 * edge[1],
        matches=across.count if across else 0,
        earlier_outline_mm=outline,
        notes=notes,
    )
