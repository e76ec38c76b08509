"""From photos of a board to a lens profile."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import AligncheckError, InputError
from aligncheck.lens.account import details, remarks
from aligncheck.lens.compare import FULL, compare_models
from aligncheck.lens.curl import uncurl
from aligncheck.lens.effect import corner_effect
from aligncheck.lens.lens_fit import LensFit
from aligncheck.lens.look import BoardPhoto, look_at_board, of_one_camera
from aligncheck.lens.profile import LensProfile
from aligncheck.lens.solve import Solution, solve
from aligncheck.photo import read_photo

__all__ = ["LensFit", "fit_lens"]

Floats = NDArray[np.float64]

#: Two views fix a lens (Zhang); the third tells whether they agree.
LEAST_VIEWS = 3
#: A view this many times worse than the others, and worse than so many px, is no flat, sharp board.
BAD_TIMES, BAD_PX = 3.0, 0.2
#: A profile whose focal length is less sure than this says nothing; as a share, standard deviation.
HOPELESS = 0.05
#: Rounds of fitting lens and curls: the second already changes nothing that can be seen.
CURL_ROUNDS = 2
#: A ruler of 100 mm may measure so much more or less; printers stretch by 3 % at most, "fit to page" by 10 %.
RULER_MM, RULER_RANGE_MM = 100.0, (85.0, 115.0)


def fit_lens(
    photos: Sequence[Path],
    squares: tuple[int, int] | None = None,
    ruler_mm: tuple[float, float] | None = None,
    progress: Callable[[], None] = lambda: None,
) -> LensFit:
    """Fit a lens to photos of the printed board or of a plain chessboard.

    Parameters
    ----------
    photos : sequence of Path
    squares : (int, int), optional
        Squares across and down, for a plain chessboard that is not found by itself.
    ruler_mm : (float, float), optional
        What the sheet's two 100 mm rulers measure, across and up. Only their ratio matters to the lens.
    progress : callable
        Called after every photo.

    Raises
    ------
    InputError
        "boards_too_few", "lens_undetermined" or "bad_ruler". Photos that fail on their own are listed in `rejected`.
    """
    stretch = _stretch(ruler_mm)
    boards, rejected = _look_at_all(photos, squares, progress)
    boards, others = of_one_camera(boards)
    rejected += others
    boards = [_stretched(b, stretch) if b.kind == "own" else b for b in boards]
    for step in (lambda b: b, _uncurled):
        # A view that is blurred, moved or bent by more than the others; curls once known, the rest shows more clearly.
        boards, bad = _without_bad_views(step(boards))
        rejected += bad
    if len(boards) < LEAST_VIEWS:
        why = "{}: {}".format(*rejected[0]) if rejected else "Take some more."
        raise InputError("boards_too_few", number=len(boards), least=LEAST_VIEWS, why=why)
    return _fitted(boards, rejected, ruler_mm)


def _stretch(ruler_mm: tuple[float, float] | None) -> Floats:
    if ruler_mm is None:
        return np.ones(2)
    for length in ruler_mm:
        if not RULER_RANGE_MM[0] <= length <= RULER_RANGE_MM[1]:
            raise InputError("bad_ruler", text=f"{length:g} mm")
    return np.array(ruler_mm) / RULER_MM


def _stretched(board: BoardPhoto, stretch: Floats) -> BoardPhoto:
    return replace(board, corners=replace(board.corners, points=board.corners.points * stretch))


def _look_at_all(
    photos: Iterable[Path], squares: tuple[int, int] | None, progress: Callable[[], None]
) -> tuple[list[BoardPhoto], list[tuple[str, AligncheckError]]]:
    boards: list[BoardPhoto] = []
    rejected: list[tuple[str, AligncheckError]] = []
    for path in photos:
        try:
            boards.append(look_at_board(read_photo(path), squares))
        except AligncheckError as error:
            rejected.append((Path(path).name, error))
        progress()
    return boards, rejected


def _solved(boards: Sequence[BoardPhoto]) -> Solution:
    try:
        solution = solve([b.corners for b in boards], boards[0].size_px, FULL, boards[0].focal_px)
    except cv2.error:
        raise InputError("lens_undetermined") from None
    if not np.isfinite(solution.values).all() or not 0.3 < solution.values[0] / max(boards[0].size_px) < 30:
        raise InputError("lens_undetermined")
    return solution


def _without_bad_views(
    boards: list[BoardPhoto],
) -> tuple[list[BoardPhoto], list[tuple[str, AligncheckError]]]:
    """Leave out, worst first, views that fit far worse than the others."""
    rejected: list[tuple[str, AligncheckError]] = []
    while len(boards) > LEAST_VIEWS:
        rms = np.array(_solved(boards).view_rms_px)
        worst = int(rms.argmax())
        usual = float(np.median(np.delete(rms, worst)))
        if rms[worst] < max(BAD_TIMES * usual, BAD_PX):
            break
        figures = {"rms_px": f"{rms[worst]:.2f}", "usual_px": f"{usual:.2f}"}
        rejected.append((boards[worst].name, InputError("board_badly_seen", **figures)))
        boards = boards[:worst] + boards[worst + 1 :]
    return boards, rejected


def _uncurled(boards: list[BoardPhoto]) -> list[BoardPhoto]:
    """The boards with the curl of their sheets."""
    if len(boards) < LEAST_VIEWS:
        return boards
    for _ in range(CURL_ROUNDS):
        curled = uncurl([b.corners for b in boards], _solved(boards))
        boards = [replace(b, corners=c) for b, c in zip(boards, curled, strict=True)]
    return boards


def _fitted(
    boards: list[BoardPhoto], rejected: list[tuple[str, AligncheckError]], ruler_mm: tuple[float, float] | None
) -> LensFit:
    size = boards[0].size_px
    start = _solved(boards)
    sides = [s for b in boards for s in b.sides]
    try:
        comparison = compare_models([b.corners for b in boards], sides, size, float(start.values[0]))
    except (cv2.error, np.linalg.LinAlgError):
        raise InputError("lens_undetermined") from None
    values, covariance = comparison.lens.values, comparison.lens.covariance
    if not np.isfinite(covariance).all() or np.sqrt(covariance[0, 0]) > HOPELESS * values[0]:
        raise InputError("lens_undetermined")
    effect = corner_effect(values, covariance, size, comparison.left_out_px)
    solution = comparison.full
    fit = LensFit(
        profile=LensProfile.of(size, values, covariance, boards[0].camera),
        effect=effect,
        rms_px=solution.rms_px,
        used=tuple(boards),
        view_rms_px=solution.view_rms_px,
        rejected=tuple(rejected),
        comparison=comparison,
        notes=remarks(boards, solution, values, effect, comparison.left_out_px),
    )
    return replace(fit, profile=replace(fit.profile, details=details(fit, ruler_mm)))
