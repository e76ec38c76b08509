"""Lens and camera places from the corners of several boards. OpenCV does the solving; the covariance is ours.

The terms are those of Zhang (IEEE PAMI 22 (2000) 1330) as OpenCV extends them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.lens.corners import CURLS, Corners

Floats = NDArray[np.float64]

#: How much more a printer stretches one way than the other, as a standard deviation: paper feeds slip by as much.
STRETCH = 0.001
#: Height, squares, over which the change of the pixels by height is taken.
HEIGHT_STEP = 0.01
#: So many numbers of all views together each view's own noise is judged with.
ALIKE = 10
#: Names of the numbers that describe the lens, in the order of every vector and covariance here. `aspect` is fy / fx.
TERM_NAMES = ("focal", "cx", "cy", "k1", "k2", "p1", "p2", "k3", "aspect")


@dataclass(frozen=True)
class Solution:
    """A lens fitted to several views.

    Attributes
    ----------
    values : ndarray (9,)
        As `TERM_NAMES`; pixels for the first three.
    free : tuple of str
        The terms that were fitted.
    information : ndarray (len(free), len(free))
        Inverse covariance of the free terms, camera places eliminated.
    residuals : tuple of ndarray (n, 2)
        Seen less predicted pixels, view by view.
    unstretched : ndarray (9,)
        The values once the sheet's stretch is let go too (one linear step; equal to `values` where it is none).
    rotations, shifts : tuple of ndarray (3,)
        Of board to camera, as OpenCV's rotation vectors and in squares.
    """

    values: Floats
    free: tuple[str, ...]
    information: Floats
    unstretched: Floats
    residuals: tuple[Floats, ...]
    rotations: tuple[Floats, ...]
    shifts: tuple[Floats, ...]

    @property
    def rms_px(self) -> float:
        """Root mean square distance of the corners from their prediction."""
        square = sum(float((r * r).sum()) for r in self.residuals)
        return float(np.sqrt(square / sum(len(r) for r in self.residuals)))

    @property
    def view_rms_px(self) -> tuple[float, ...]:
        """The same, view by view."""
        return tuple(float(np.sqrt((r * r).sum(1).mean())) for r in self.residuals)


def matrix_of(values: Floats) -> Floats:
    """The camera matrix (3, 3) of a vector of terms."""
    f, cx, cy, aspect = values[0], values[1], values[2], values[8]
    return np.array([[f, 0, cx], [0, f * aspect, cy], [0, 0, 1.0]])


def _flags(free: Sequence[str]) -> int:
    flags = cv2.CALIB_USE_INTRINSIC_GUESS
    fixed = {"cx": cv2.CALIB_FIX_PRINCIPAL_POINT, "k1": cv2.CALIB_FIX_K1, "k2": cv2.CALIB_FIX_K2}
    fixed |= {"k3": cv2.CALIB_FIX_K3, "p1": cv2.CALIB_ZERO_TANGENT_DIST, "aspect": cv2.CALIB_FIX_ASPECT_RATIO}
    for term, flag in fixed.items():
        flags |= 0 if term in free else flag
    return flags


def solve(
    views: Sequence[Corners], size_px: tuple[int, int], free: Sequence[str], focal_px: float | None = None
) -> Solution:
    """Fit the `free` terms (see `TERM_NAMES`; "cx" and "p1" bring "cy" and "p2" along) to all `views`.

    `focal_px` is a first guess; without it OpenCV takes one from the boards' perspective.

    Raises
    ------
    cv2.error
        If the views leave the lens undetermined.
    """
    points = [v.solid.astype(np.float32) for v in views]
    pixels = [v.pixels.astype(np.float32).reshape(-1, 1, 2) for v in views]
    width, height = size_px
    if focal_px is None:
        guess = np.asarray(cv2.initCameraMatrix2D(points, pixels, size_px, 1.0), float)
        focal_px = float(guess[0, 0]) if np.isfinite(guess[0, 0]) and guess[0, 0] > 0 else float(max(size_px))
    start = np.array([[focal_px, 0, (width - 1) / 2], [0, focal_px, (height - 1) / 2], [0, 0, 1.0]])
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 100, 1e-10)
    _, matrix, bend, turns, shifts = cv2.calibrateCamera(
        points, pixels, size_px, start, np.zeros(5), flags=_flags(free), criteria=stop
    )
    k1, k2, p1, p2, k3 = np.asarray(bend, float).ravel()[:5]
    m = np.asarray(matrix, float)
    values = np.array([m[0, 0], m[0, 2], m[1, 2], k1, k2, p1, p2, k3, m[1, 1] / m[0, 0]])
    wanted = {*free, *({"cy"} if "cx" in free else ()), *({"p2"} if "p1" in free else ())}
    names = tuple(n for n in TERM_NAMES if n in wanted)
    places = [np.asarray(p, float).ravel() for p in (*turns, *shifts)]
    return _judge(views, values, names, places[: len(views)], places[len(views) :])


def project(solid: Floats, turn: Floats, shift: Floats, values: Floats) -> tuple[Floats, Floats, Floats]:
    """Pixels (n, 2) of board points (n, 3), their derivatives by the nine terms (2n, 9) and by the place (2n, 6)."""
    pixels, jacobian = cv2.projectPoints(solid, turn, shift, matrix_of(values), values[3:8])
    j = np.asarray(jacobian, float)
    by_fx, by_fy = j[:, 6], j[:, 7]
    focal, aspect = by_fx + values[8] * by_fy, values[0] * by_fy
    terms = np.column_stack([focal, j[:, 8:10], j[:, 10:15], aspect])
    return np.asarray(pixels, float).reshape(-1, 2), terms, j[:, :6]


def by_curls(view: Corners, turn: Floats, shift: Floats, values: Floats) -> Floats:
    """Change (2n, 7) of a view's pixels by its curls."""
    low, high = (project(view.solid + (0, 0, dz), turn, shift, values)[0] for dz in (0.0, HEIGHT_STEP))
    slope = (high - low) / HEIGHT_STEP
    return np.asarray((slope[:, :, None] * view.basis[:, None, :]).reshape(-1, CURLS), float)


def _judge(
    views: Sequence[Corners], values: Floats, free: tuple[str, ...], turns: list[Floats], shifts: list[Floats]
) -> Solution:
    """Residuals and the information of the free terms; what is each view's own and the sheet's stretch eliminated."""
    columns = [TERM_NAMES.index(n) for n in free]
    last = len(free)
    projected = [project(v.solid, t, s, values) for v, t, s in zip(views, turns, shifts, strict=True)]
    residuals = [v.pixels - p for v, (p, _, _) in zip(views, projected, strict=True)]
    noise = _noise(views, residuals, last)
    normal, right = np.zeros((last + 1, last + 1)), np.zeros(last + 1)
    for k, (view, turn, shift) in enumerate(zip(views, turns, shifts, strict=True)):
        pixels, terms, place = projected[k]
        stretched = (project(view.solid * (1, 1 + STRETCH, 1), turn, shift, values)[0] - pixels).ravel()
        common = np.column_stack([terms[:, columns], stretched * (not view.square), residuals[k].ravel()])
        own = np.column_stack([place, by_curls(view, turn, shift, values), stretched])
        across = _eliminated(common / noise[k], own / noise[k], view)
        whole = across.T @ across
        normal += whole[:-1, :-1]
        right += whole[:-1, -1]
    # One unit of the last column is one standard deviation of the stretch, hence the prior of one.
    by_stretch = normal[:last, last]
    information = normal[:last, :last] - np.outer(by_stretch, by_stretch) / (normal[last, last] + 1.0)
    normal[last, last] += 1.0
    unstretched = values.copy()
    unstretched[columns] += np.linalg.solve(normal, right)[:last]
    return Solution(values, free, information, unstretched, tuple(residuals), tuple(turns), tuple(shifts))


def _noise(views: Sequence[Corners], residuals: Sequence[Floats], terms: int) -> Floats:
    """Standard deviation of each view's pixels: blurred ones are less sure; with few corners, more like all others'."""
    squares = np.array([float((r * r).sum()) for r in residuals])
    freedom = np.array([r.size - 6 - CURLS * (v.curl_sd > 0) for v, r in zip(views, residuals, strict=True)])
    all_alike = max(float(squares.sum()) / max(int(freedom.sum()) - terms, 1), 1e-12)
    return np.sqrt((squares + ALIKE * all_alike) / (np.maximum(freedom, 0) + ALIKE))


def _eliminated(common: Floats, own: Floats, view: Corners) -> Floats:
    """What is left of `common` columns (and the residual, last) once the view's `own` numbers are fitted.

    Both in units of the noise. The place is free; curls are held to their spread, the stretch of a square board, which
    may lie either way in each view, to one unit.
    """
    spread = np.concatenate([np.zeros(6), np.full(CURLS, view.curl_sd), [1.0 * view.square]])
    fitted = (spread > 0) | (np.arange(len(spread)) < 6)
    held = spread > 0
    bounds = np.diag(1 / np.where(held, spread, 1.0))[held]
    gone = np.zeros((len(bounds), common.shape[1]))
    gone[:, -1] = -(bounds @ np.concatenate([np.zeros(6), view.curls, [0.0]]))
    common, own = np.vstack([common, gone]), np.vstack([own, bounds])[:, fitted]
    return np.asarray(common - own @ np.linalg.lstsq(own, common, rcond=None)[0], float)
