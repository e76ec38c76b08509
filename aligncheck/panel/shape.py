"""Four sides, one lens and one camera fitted together: the quadrilateral must be a W x H rectangle in the world."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import cross
from aligncheck.lens import Lens
from aligncheck.lens.bend import unbend_each
from aligncheck.panel.edges import Edges
from aligncheck.panel.known_camera import KnownCamera
from aligncheck.panel.side_bow import UNKNOWN, Bow, bow_design, bow_precision

Floats = NDArray[np.float64]

#: Unknowns: eight corner coordinates (px), k1, k2, log focal length, principal point (px).
K1, K2, FOCAL, CX, CY = 8, 9, 10, 11, 12
#: Panels are out of square and size by some tenths of a millimetre: spread of the axes' ratio and cosine, mm.
OUT_OF_SQUARE_MM = 0.3
#: Steps of the numerical derivatives.
STEPS = np.array([0.05] * 8 + [1e-4, 1e-4, 1e-4, 0.5, 0.5])


class ShapeFit(NamedTuple):
    """The joint fit.

    Attributes
    ----------
    corners_px : ndarray (4, 2)
    lens : Lens
    covariance : ndarray (13, 13)
        Of corners (px), k1, k2, log focal, cx, cy, from the pieces' variances and the priors.
    residuals : list of ndarray
        Of each side's pieces, px, outward; and in `weights` what robust weight they were given.
    bows_px : ndarray (4,)
        How far the sides bow by themselves, inward: factors of :func:`bow_design`.
    with_bows : ndarray (17, 17)
        The covariance with that of the bows, which come last.
    """

    corners_px: Floats
    lens: Lens
    covariance: Floats
    residuals: list[Floats]
    weights: list[Floats]
    bows_px: Floats
    with_bows: Floats


def shape_residuals(corners_px: Floats, lens: Lens, width_mm: float, height_mm: float) -> Floats:
    """Log ratio and cosine of the panel's two axes as this camera would see them: zero for a true rectangle."""
    return shape_of(lens.unbend(corners_px), width_mm, height_mm)


def shape_spread(
    corners_px: Floats, lens: Lens, camera: KnownCamera, size_mm: tuple[float, float], corner_sd_px: float
) -> Floats:
    """Covariance (2, 2) of `shape_residuals`: panels out of square, focal length and axis, the corners' own errors."""
    base = shape_residuals(corners_px, lens, *size_mm)
    spread = np.eye(2) * OUT_OF_SQUARE_MM**2 / (size_mm[0] * size_mm[1])
    _, _, log_focal, cx, cy = camera.spread
    for moved in (
        replace(lens, focal_px=lens.focal_px * float(np.exp(log_focal))),
        replace(lens, cx_px=lens.cx_px + float(cx)),
        replace(lens, cy_px=lens.cy_px + float(cy)),
    ):
        d = shape_residuals(corners_px, moved, *size_mm) - base
        spread += np.outer(d, d)
    d = shape_residuals(corners_px + corner_sd_px * np.eye(8).reshape(8, 4, 2), lens, *size_mm) - base
    return np.asarray(spread + d.T @ d, float)


def shape_chi2(
    corners_px: Floats, lens: Lens, camera: KnownCamera, size_mm: tuple[float, float], corner_sd_px: float
) -> float:
    """How badly four corners disagree with a W x H rectangle before the camera that is believed in (two numbers).

    Only the bend is taken from the fitted `lens`: what the fit did to focal length and axis to follow the small waves
    of the sides says nothing about the shape.
    """
    believed = replace(camera.lens, k1=lens.k1, k2=lens.k2)
    r = shape_residuals(corners_px, believed, *size_mm)
    return float(r @ np.linalg.solve(shape_spread(corners_px, believed, camera, size_mm, corner_sd_px), r))


def shape_of(corners: Floats, width_mm: float, height_mm: float) -> Floats:
    """What `shape_residuals` says, from undistorted corners (..., 4, 2): shape (..., 2).

    The corners of a rectangle seen at m1 (top left), m2, m3 (bottom left), m4 with depths 1, k2, k3 give its axes as
    k2 m2 - m1 and k3 m3 - m1 (Zhang and He, Whiteboard scanning, 2004).
    """
    m = np.concatenate([corners, np.ones((*corners.shape[:-1], 1))], axis=-1)
    m1, m2, m4, m3 = (m[..., i, :] for i in range(4))
    cross14 = cross(m1, m4)
    k2 = (cross14 * m3).sum(-1) / (cross(m2, m4) * m3).sum(-1)
    k3 = (cross14 * m2).sum(-1) / (cross(m3, m4) * m2).sum(-1)
    a, b = k2[..., None] * m2 - m1, k3[..., None] * m3 - m1
    na, nb = np.sqrt((a * a).sum(-1)), np.sqrt((b * b).sum(-1))
    return np.stack([np.log(na / nb * height_mm / width_mm), (a * b).sum(-1) / (na * nb)], axis=-1)


def _outside(points: Floats, corners: Floats, which: NDArray[np.int_]) -> Floats:
    """How far undistorted points (..., n, 2) lie outside their side `which` (n,) of undistorted corners (..., 4, 2)."""
    # Coordinate by coordinate: NumPy is slow along so short an axis.
    x, y = corners[..., 0], corners[..., 1]
    along_x, along_y = np.roll(x, -1, axis=-1) - x, np.roll(y, -1, axis=-1) - y
    length = np.hypot(along_x, along_y)
    normal_x, normal_y = along_y / length, -along_x / length
    start = normal_x * x + normal_y * y
    off = normal_x[..., which] * points[..., 0] + normal_y[..., which] * points[..., 1]
    return np.asarray(off - start[..., which], float)


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


def _residuals_and_slopes(
    points_px: Floats,
    which: NDArray[np.int_],
    corners_px: Floats,
    lens: Lens,
    size_mm: tuple[float, float],
    shape_sd: float,
) -> tuple[Floats, Floats]:
    """Residuals (n + 2,), pieces in px and shape in spreads, and their derivatives (n + 2, 13)."""
    points, corners = lens.unbend(points_px), lens.unbend(corners_px)
    moved = corners_px + STEPS[:8, None, None] * np.eye(8).reshape(8, 4, 2)
    nine = np.concatenate([corners[None], lens.unbend(moved)])
    rows = np.concatenate([_outside(points, nine, which) * lens.focal_px, shape_of(nine, *size_mm) / shape_sd], axis=1)
    r = rows[0]
    slopes = np.empty((len(r), 13))
    slopes[:, :8] = ((rows[1:] - r) / STEPS[:8, None]).T
    others = [_moved(corners_px, lens, x)[1] for x in np.diag(STEPS)[8:]]
    both = unbend_each(others, np.concatenate([corners_px, points_px]))
    pieces = _outside(both[:, 4:], both[:, :4], which) * np.array([[other.focal_px] for other in others])
    rows = np.concatenate([pieces, shape_of(both[:, :4], *size_mm) / shape_sd], axis=1)
    slopes[:, 8:] = ((rows - r) / STEPS[8:, None]).T
    return r, slopes


def fit_shape(
    sides: list[Edges],
    corners_px: Floats,
    camera: KnownCamera,
    width_mm: float,
    height_mm: float,
    scale_px: float,
    bow: Bow = UNKNOWN,
) -> ShapeFit:
    """Gauss-Newton over corners, bend, focal length and axis, with robust weights on the pieces.

    `scale_px` is the residual beyond which a piece loses weight (Cauchy) when its own variance is smaller; `bow` how
    far the sides may bow by themselves.
    """
    points_px = np.concatenate([s.points_px for s in sides])
    which = np.repeat(np.arange(4), [len(s.points_px) for s in sides])
    variance = np.concatenate([s.variance_px2 for s in sides])
    use = np.isfinite(variance)
    precision = np.where(use, 1 / np.where(use, variance, 1), 0)
    shape_sd = OUT_OF_SQUARE_MM / np.sqrt(width_mm * height_mm)
    precision_of_lens = np.linalg.inv(camera.covariance)
    corners, lens = corners_px, camera.start or camera.lens
    prior = _from_belief(lens, camera.lens)
    bowed, bows = bow_design([len(s.points_px) for s in sides]), np.zeros(4)
    precision_of_bows = bow_precision(corners_px, width_mm, height_mm, bow)

    robust: Floats = np.ones(len(points_px), dtype=np.float64)
    normal = np.eye(17)
    for _ in range(5):
        r, by_shape = _residuals_and_slopes(points_px, which, corners, lens, (width_mm, height_mm), shape_sd)
        r[:-2] -= bowed @ bows
        jac = np.hstack([by_shape, np.vstack([-bowed, np.zeros((2, 4))])])
        limit = np.maximum(scale_px**2, 2 * np.where(use, variance, 1))
        robust = np.asarray(1 / (1 + r[:-2] ** 2 / limit), float)
        w = np.concatenate([precision * robust, [1.0, 1.0]])
        normal = jac.T @ (w[:, None] * jac)
        right = -jac.T @ (w * r)
        normal[8:13, 8:13] += precision_of_lens
        right[8:13] -= precision_of_lens @ prior
        normal[13:, 13:] += precision_of_bows
        right[13:] -= precision_of_bows @ bows
        normal[range(8), range(8)] += 1e-6  # a side that is not seen at all stays where it is
        x = np.asarray(np.linalg.solve(normal, right), float)
        corners, lens = _moved(corners, lens, x)
        bows = bows + x[13:]
        prior = _from_belief(lens, camera.lens)
        if np.abs(x[:8]).max() < 0.01:
            break
    off = _outside(lens.unbend(points_px), lens.unbend(corners), which) * lens.focal_px - bowed @ bows
    split = np.cumsum([len(s.points_px) for s in sides])[:-1]
    covariance = np.asarray(np.linalg.inv(normal), float)
    return ShapeFit(
        corners,
        lens,
        covariance[:13, :13],
        list(np.split(off, split)),
        list(np.split(robust, split)),
        bows,
        covariance,
    )
