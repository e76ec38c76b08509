"""One photo of the arrangement in the common frame: outline, camera, plan."""

from dataclasses import dataclass

import numpy as np

from aligncheck.centrepiece import Centrepiece
from aligncheck.centrepiece.plan import plan_of, seen_at
from aligncheck.drift import Drift
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.placement.match import Look, look_of
from aligncheck.placement.turns import Floats, Motion, turn_matrix


@dataclass(frozen=True)
class Arranged:
    """One checked photo with a piece in it."""

    photo: Photo
    drift: Drift
    piece: Centrepiece
    name: str = "photo"


@dataclass(frozen=True)
class Side:
    """One photo in the common frame: what was checked, its panel (in its own frame), the turn into the common frame."""

    arranged: Arranged
    panel: Panel
    turn: Floats

    @property
    def camera_mm(self) -> Floats:
        """Where the camera stood (3,)."""
        camera = self.panel.camera_position_mm.copy()
        camera[:2] = self.turn @ camera[:2]
        return camera

    @property
    def seen_mm(self) -> Floats:
        """Outline (n, 2) on the face, through the panel's corrected map."""
        old = self.arranged.drift.marks.panel
        pixels = old.to_photo(self.arranged.piece.outline_mm)
        return np.asarray(self.panel.to_panel(pixels) @ self.turn.T, float)

    @property
    def look(self) -> Look:
        """Its pixels."""
        return look_of(self.arranged.photo.grey, self.panel, self.turn)

    def plan(self, height_mm: float) -> Floats:
        """The outline (n, 2) as seen from above, its edge so high."""
        return plan_of(self.seen_mm, self.camera_mm, height_mm)

    def slope(self, plan_mm: Floats, height_mm: float) -> Floats:
        """How far points (..., 2) at that height seem to move on the face per mm that they stand higher."""
        camera = self.camera_mm
        return np.asarray((seen_at(plan_mm, camera, height_mm) - camera[:2]) / camera[2], float)


def parallax(first: Side, other: Side, plan_mm: Floats, motion: Motion, height_mm: float) -> Floats:
    """How far points (..., 2) of the earlier plan seem to move between two photos per mm that they are higher."""
    turned = first.slope(plan_mm, height_mm) @ turn_matrix(motion.turn_deg).T
    return np.asarray(other.slope(motion(plan_mm), height_mm) - turned, float)
