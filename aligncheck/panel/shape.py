"""Four sides, one lens and one camera fitted together: the quadrilateral must be a W x H rectangle in the world."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.projective import homography_from_corners
from aligncheck.lens import Lens
from aligncheck.panel.edges import Edges
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Unknowns: eight corner coordinates (px), k1, k2, log focal length, principal point (px).
K1, K2, FOCAL, CX, CY = 8, 9, 10, 11, 12
#: Prior spread of a phone's bend after its own correction.
K1_SD, K2_SD = 0.035, 0.012
#: EXIF rounds the 35 mm figure to whole millimetres: 1.1 % at 26 mm; makers differ by a little more.
FOCAL_SD = 0.014
#: Without EXIF: phones' main cameras (26 mm, that is 0.75 of the longer side) and their neighbours.
FREE_FOCAL, FREE_FOCAL_SD = 0.75, 0.35
#: The lens's axis against the middle of the picture, as a share of the longer side (stabilised sensors move).
AXIS_SD = 0.004
#: A profile that states no covariance, and the least that is believed of one that does (a lens refocuses): k1, k2,
#: log focal length, axis as a share of the longer side.
PROFILE_SD = np.array([0.003, 0.003, 0.003, 0.0005, 0.0005])
LEAST_SD = np.array([0.0005, 0.0005, 0.0005, 0.0001, 0.0001])
#: Panels are out of square and size by some tenths of a millimetre: spread of the axes' ratio and cosine, mm.
OUT_OF_SQUARE_MM = 0.3
#: Steps of the numerical derivatives.
STEPS = np.array([0.05] * 8 + [1e-4, 1e-4, 1e-4, 0.5, 0.5])


@dataclass(frozen=True)
class Camera:
    """What is believed of the lens before the sides are seen.

    Attributes
    ----------
    lens : Lens
    spread : ndarray (5,)
        Prior standard deviations of k1, k2, log focal length, cx, cy about `lens`.
    start : Lens or None
        Where the fit begins, if elsewhere.
    """

    lens: Lens
    spread: Floats
    start: Lens | None = None


def believed_camera(photo: Photo, profile: Lens | None) -> Camera:
    """From a profile, from EXIF, or from what phones are like."""
    size = float(max(photo.width_px, photo.height_px))
    if profile is not None:
        return Camera(profile, _profile_spread(profile, size))
    focal = photo.focal_px_by_camera
    spread = np.array([K1_SD, K2_SD, FOCAL_SD if focal else FREE_FOCAL_SD, AXIS_SD * size, AXIS_SD * size])
    middle = ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    return Camera(Lens(focal or FREE_FOCAL * size, *middle, source="panel"), spread)


def _profile_spread(profile: Lens, size_px: float) -> Floats:
    if profile.covariance is None:
        return PROFILE_SD * np.array([1, 1, 1, size_px, size_px])
    sd = np.sqrt(np.maximum(np.diag(profile.covariance), 0))
    least = LEAST_SD * np.array([1, 1, 1, size_px, size_px])
    return np.maximum([sd[3], sd[4], sd[0] / profile.focal_px, sd[1], sd[2]], least)


@dataclass(frozen=True)
class ShapeFit:
    """The joint fit.

    Attributes
    ----------
    corners_px : ndarray (4, 2)
    lens : Lens
    covariance : ndarray (13, 13)
        Of corners (px), k1, k2, log focal, cx, cy, from the pieces' variances and the priors.
    chi2 : float
        Of shape, focal length and axis against the priors.
    residuals : list of ndarray
        Of each side's pieces, px, outward; and in `weights` what robust weight they were given.
    """

    corners_px: Floats
    lens: Lens
    covariance: Floats
    chi2: float
    residuals: list[Floats]
    weights: list[Floats]


def shape_residuals(corners_px: Floats, lens: Lens, width_mm: float, height_mm: float) -> Floats:
    """Log ratio and cosine of the panel's two axes as this camera would see them: zero for a true rectangle."""
    matrix = homography_from_corners(nominal_corners(width_mm, height_mm), lens.unbend(corners_px))
    a, b = matrix[:, 0], matrix[:, 1]
    na, nb = np.sqrt(a @ a), np.sqrt(b @ b)
    return np.array([np.log(na / nb), a @ b / (na * nb)])


def side_residuals(points_px: Floats, corners_px: Floats, lens: Lens, which: NDArray[np.int_]) -> Floats:
    """How far (px) the places (n, 2) lie outside their side `which` (n,)."""
    both = lens.unbend(np.concatenate([corners_px, points_px]))
    corners, p = both[:4], both[4:]
    a = corners[which]
    along = corners[(which + 1) % 4] - a
    d = p - a
    distance = (along[:, 1] * d[:, 0] - along[:, 0] * d[:, 1]) / np.sqrt((along * along).sum(axis=1))
    return np.asarray(distance * lens.focal_px, float)


def _moved(corners: Floats, lens: Lens, x: Floats) -> tuple[Floats, Lens]:
    new = replace(
        lens,
        k1=lens.k1 + x[K1],
        k2=lens.k2 + x[K2],
        focal_px=lens.focal_px * float(np.exp(x[FOCAL])),
        cx_px=lens.cx_px + x[CX],
        cy_px=lens.cy_px + x[CY],
    )
    return corners + x[:8].reshape(4, 2), new


def _from_belief(lens: Lens, belief: Lens) -> Floats:
    """How far k1, k2, log focal length, cx, cy lie from what was believed."""
    log_focal = np.log(lens.focal_px / belief.focal_px)
    moved = [lens.k1 - belief.k1, lens.k2 - belief.k2, log_focal, lens.cx_px - belief.cx_px, lens.cy_px - belief.cy_px]
    return np.array(moved)


def fit_shape(
    sides: list[Edges], corners_px: Floats, camera: Camera, width_mm: float, height_mm: float, scale_px: float
) -> ShapeFit:
    """Gauss-Newton over corners, bend, focal length and axis, with robust weights on the pieces.

    `scale_px` is the residual beyond which a piece loses weight (Cauchy) when its own variance is smaller.
    """
    points = np.concatenate([s.points_px for s in sides])
    which = np.repeat(np.arange(4), [len(s.points_px) for s in sides])
    variance = np.concatenate([s.variance_px2 for s in sides])
    use = np.isfinite(variance)
    precision = np.where(use, 1 / np.where(use, variance, 1), 0)
    shape_sd = OUT_OF_SQUARE_MM / np.sqrt(width_mm * height_mm)
    spread = camera.spread
    corners, lens = corners_px, camera.start or camera.lens
    prior = _from_belief(lens, camera.lens)

    def all_residuals(c: Floats, one: Lens) -> Floats:
        return np.concatenate(
            [side_residuals(points, c, one, which), shape_residuals(c, one, width_mm, height_mm) / shape_sd]
        )

    robust: Floats = np.asarray(np.ones(len(points)), float)
    normal = np.eye(13)
    for _ in range(5):
        r = all_residuals(corners, lens)
        jac = np.empty((len(r), 13))
        for k in range(13):
            x = np.zeros(13)
            x[k] = STEPS[k]
            jac[:, k] = (all_residuals(*_moved(corners, lens, x)) - r) / STEPS[k]
        limit = np.maximum(scale_px**2, 2 * np.where(use, variance, 1))
        robust = np.asarray(1 / (1 + r[:-2] ** 2 / limit), float)
        w = np.concatenate([precision * robust, [1.0, 1.0]])
        normal = jac.T @ (w[:, None] * jac)
        right = -jac.T @ (w * r)
        normal[range(8, 13), range(8, 13)] += 1 / spread**2
        right[8:] -= prior / spread**2
        normal[range(8), range(8)] += 1e-6  # a side that is not seen at all stays where it is
        x = np.linalg.solve(normal, right)
        corners, lens = _moved(corners, lens, x)
        prior = _from_belief(lens, camera.lens)
        if np.abs(x[:8]).max() < 0.01:
            break
    r = all_residuals(corners, lens)
    chi2 = float((r[-2:] ** 2).sum() + ((prior[2:] / spread[2:]) ** 2).sum())
    split = np.cumsum([len(s.points_px) for s in sides])[:-1]
    return ShapeFit(
        corners,
        lens,
        np.asarray(np.linalg.inv(normal), float),
        chi2,
        list(np.split(r[:-2], split)),
        list(np.split(robust, split)),
    )
