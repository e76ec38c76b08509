"""The Panel value: corners, lens and the map, with the covariance that everything measured through it carries."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.projective import apply_homography, homography_from_corners
from aligncheck.geometry.uncertainty import u95_point
from aligncheck.lens import Lens
from aligncheck.notes import Note
from aligncheck.panel.kind import Kind, usual_kinds
from aligncheck.panel.squareness import Squareness

if TYPE_CHECKING:
    from aligncheck.panel.in_common import Sides

Floats = NDArray[np.float64]

#: Steps for the numerical derivative of the map: mm at a corner, and of a lens term.
CORNER_STEP_MM = 0.01
BEND_STEP = 1e-4


def nominal_corners(width_mm: float, height_mm: float) -> Floats:
    """Corners (4, 2) of an exact panel in its own frame: top left, top right, bottom right, bottom left."""
    return np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (width_mm / 2, height_mm / 2)


@dataclass(frozen=True)
class Panel:
    """The front face of the panel as this photo shows it.

    Panel frame: mm, origin where the diagonals cross, x right, y down, seen with the panel's uppermost side in the
    upright photo as the top.

    Attributes
    ----------
    corners_px : ndarray (4, 2)
        Top left, top right, bottom right, bottom left, in photo pixels, where the straight sides cross.
    photo_to_panel : ndarray (3, 3)
        From undistorted normalised coordinates (`lens.unbend`) to mm.
    covariance : ndarray (10, 10)
        Of the map's parameters p: eight corner displacements in mm (x, y of each corner) and k1, k2; a true point is
        the measured one plus `field` times p.
    depth_mm : float or None
        Thickness where it was given: boards are cut true, stretched canvases less so.
    kinds : tuple of Kind
        How the panel may be made as its sides were seen, and p then; empty where the map was not fitted to sides.
    settled : bool
        Whether what its marks say of the map is in it: its corners then lie where they were cut, not at the nominal
        ones, and the kinds hold how far they may still be off.
    squareness : Squareness or None
        What its round rings say of its shape, where it has any.
    sides : Sides or None
        What the kinds were told from, for those who join several photos.
    unsettled : Panel or None
        The panel as its sides alone gave it, where it is settled.
    """

    width_mm: float
    height_mm: float
    lens: Lens
    corners_px: Floats
    photo_to_panel: Floats
    covariance: Floats
    notes: tuple[Note, ...] = ()
    depth_mm: float | None = None
    kinds: tuple[Kind, ...] = ()
    settled: bool = False
    squareness: Squareness | None = None
    sides: "Sides | None" = None
    unsettled: "Panel | None" = None

    @classmethod
    def from_corners(
        cls,
        width_mm: float,
        height_mm: float,
        lens: Lens,
        corners_px: ArrayLike,
        covariance: ArrayLike | None = None,
        notes: tuple[Note, ...] = (),
        corners_mm: ArrayLike | None = None,
    ) -> "Panel":
        """Build the panel whose `corners_px` (4, 2) lie at the nominal corners, or at `corners_mm` where known."""
        corners = np.asarray(corners_px, float)
        target = nominal_corners(width_mm, height_mm) if corners_mm is None else np.asarray(corners_mm, float)
        matrix = homography_from_corners(lens.unbend(corners), target)
        cov = np.zeros((10, 10)) if covariance is None else np.asarray(covariance, float)
        return cls(width_mm, height_mm, lens, corners, matrix, cov, notes)

    @cached_property
    def panel_to_photo(self) -> Floats:
        """The inverse of `photo_to_panel`: mm to undistorted normalised coordinates."""
        return np.asarray(np.linalg.inv(self.photo_to_panel), float)

    def to_panel(self, pixels: ArrayLike) -> Floats:
        """Photo pixels (..., 2) to panel mm."""
        return apply_homography(self.photo_to_panel, self.lens.unbend(pixels))

    def to_photo(self, points_mm: ArrayLike) -> Floats:
        """Panel mm (..., 2) to photo pixels."""
        return self.lens.bend(apply_homography(self.panel_to_photo, points_mm))

    def px_per_mm(self, points_mm: ArrayLike = (0.0, 0.0)) -> Floats:
        """Mean scale (...) of the photo at panel points (..., 2): square root of the area ratio."""
        p = np.asarray(points_mm, float)
        ex = self.to_photo(p + (0.5, 0)) - self.to_photo(p - (0.5, 0))
        ey = self.to_photo(p + (0, 0.5)) - self.to_photo(p - (0, 0.5))
        return np.sqrt(np.abs(ex[..., 0] * ey[..., 1] - ex[..., 1] * ey[..., 0]))

    @cached_property
    def _varied(self) -> list[tuple[Lens, Floats, float]]:
        """The ten maps with one parameter of p changed by a step: lens, photo_to_panel, step."""
        corners_mm = apply_homography(self.photo_to_panel, self.lens.unbend(self.corners_px))
        maps: list[tuple[Lens, Floats, float]] = []
        for k in range(8):
            moved = corners_mm.copy()
            moved[k // 2, k % 2] += CORNER_STEP_MM
            step = homography_from_corners(self.lens.unbend(self.corners_px), moved)
            maps.append((self.lens, step, CORNER_STEP_MM))
        for dk1, dk2 in ((BEND_STEP, 0.0), (0.0, BEND_STEP)):
            one = self.lens
            lens = Lens(one.focal_px, one.cx_px, one.cy_px, one.k1 + dk1, one.k2 + dk2, one.source)
            # The corners stay where the photo shows them; only what lies between them bends.
            maps.append((lens, homography_from_corners(lens.unbend(self.corners_px), corners_mm), BEND_STEP))
        return maps

    def field(self, points_mm: ArrayLike) -> Floats:
        """Displacement of panel points (..., 2) per unit of p, in mm: shape (..., 2, 10)."""
        p = np.asarray(points_mm, float)
        pixels = self.to_photo(p)
        columns = [(apply_homography(h, lens.unbend(pixels)) - p) / step for lens, h, step in self._varied]
        return np.stack(columns, axis=-1)

    def point_covariance(self, point_mm: ArrayLike) -> Floats:
        """Covariance (2, 2) in mm^2 that the map alone gives a panel point (2,)."""
        f = self.field(point_mm)
        return np.asarray(f @ self.covariance @ f.T, float)

    @property
    def corners_mm(self) -> Floats:
        """Where its corners lie (4, 2): at the nominal ones, unless it is known better."""
        return self.to_panel(self.corners_px)

    def moved(self, p: Floats) -> "Panel":
        """The same panel with the map's parameters changed by `p` (10,)."""
        lens = replace(self.lens, k1=self.lens.k1 + float(p[8]), k2=self.lens.k2 + float(p[9]))
        corners = self.corners_mm + p[:8].reshape(4, 2)
        return replace(self, lens=lens, photo_to_panel=homography_from_corners(lens.unbend(self.corners_px), corners))

    @property
    def possible_kinds(self) -> tuple[Kind, ...]:
        """How the panel may be made; where no side told, what is usual for its thickness."""
        return self.kinds or usual_kinds(self.depth_mm, self.covariance)

    @cached_property
    def corner_u95_mm(self) -> tuple[float, ...]:
        """Radius of the 95 % disc of each corner, in the order of `corners_px`."""
        return tuple(u95_point(self.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]) for k in range(4))

    @cached_property
    def camera_position_mm(self) -> Floats:
        """Where the camera stood (3,) in the panel frame: x, y, and height z above the face, all mm."""
        columns = self.panel_to_photo
        scale = 2 / (np.linalg.norm(columns[:, 0]) + np.linalg.norm(columns[:, 1]))
        if columns[2, 2] < 0:
            scale = -scale
        r1, r2, t = scale * columns.T
        r3 = np.cross(r1, r2)
        u, _, vt = np.linalg.svd(np.column_stack([r1, r2, r3]))
        position = np.asarray(-(u @ vt).T @ t, float)
        return np.array([position[0], position[1], abs(position[2])])
