"""From photos of a board to a lens profile."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import AligncheckError, InputError
from aligncheck.lens.compare import FULL, PLAIN, Comparison, compare_models, full_covariance
from aligncheck.lens.effect import CornerEffect, corner_effect
from aligncheck.lens.look import BoardPhoto, look_at_board, of_one_camera
from aligncheck.lens.profile import LensProfile
from aligncheck.lens.solve import Corners, Solution, solve
from aligncheck.notes import Note
from aligncheck.photo import read_photo

Floats = NDArray[np.float64]

#: Two views fix a lens (Zhang); the third tells whether they agree.
LEAST_VIEWS = 3
#: A view this many times worse than the others, and worse than so many px, is no flat, sharp board.
BAD_TIMES, BAD_PX = 3.0, 0.2
#: Boards all within this angle of each other leave focal length and distance mixed, deg.
ALIKE_DEG = 15.0
#: A profile whose focal length is less sure than this says nothing; as a share, standard deviation.
HOPELESS = 0.05
#: Share of the way to the picture's corner that boards or sheets should reach.
NEAR_BORDER = 0.75
#: A ruler of 100 mm may measure so much more or less; printers stretch by 3 % at most, "fit to page" by 10 %.
RULER_MM, RULER_RANGE_MM = 100.0, (85.0, 115.0)


@dataclass(frozen=True)
class LensFit:
    """A fitted profile with what it rests on.

    `rejected` lists photos that were left out, each with its reason.
    """

    profile: LensProfile
    effect: CornerEffect
    rms_px: float
    used: tuple[BoardPhoto, ...]
    view_rms_px: tuple[float, ...]
    rejected: tuple[tuple[str, AligncheckError], ...]
    comparison: Comparison
    notes: tuple[Note, ...]


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
    boards, bad = _without_bad_views(boards)
    rejected += bad
    if len(boards) < LEAST_VIEWS:
        raise InputError("boards_too_few", number=len(boards), least=LEAST_VIEWS)
    return _fitted(boards, rejected, ruler_mm)


def _stretch(ruler_mm: tuple[float, float] | None) -> Floats:
    if ruler_mm is None:
        return np.ones(2)
    for length in ruler_mm:
        if not RULER_RANGE_MM[0] <= length <= RULER_RANGE_MM[1]:
            raise InputError("bad_ruler", text=f"{length:g} mm")
    return np.array(ruler_mm) / RULER_MM


def _stretched(board: BoardPhoto, stretch: Floats) -> BoardPhoto:
    return replace(board, corners=Corners(board.corners.points * stretch, board.corners.pixels))


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


def _fitted(
    boards: list[BoardPhoto], rejected: list[tuple[str, AligncheckError]], ruler_mm: tuple[float, float] | None
) -> LensFit:
    size = boards[0].size_px
    start = _solved(boards)
    sides = [s for b in boards for s in b.sides]
    try:
        comparison = compare_models([b.corners for b in boards], sides, size, float(start.values[0]))
        covariance = full_covariance(comparison.best, size)
    except (cv2.error, np.linalg.LinAlgError):
        raise InputError("lens_undetermined") from None
    values = comparison.best.joined.values
    if not np.isfinite(covariance).all() or np.sqrt(covariance[0, 0]) > HOPELESS * values[0]:
        raise InputError("lens_undetermined")
    effect = corner_effect(values, covariance, size, comparison.left_out_px)
    solution = comparison.best.solution
    fit = LensFit(
        profile=LensProfile.of(size, values, covariance, boards[0].camera),
        effect=effect,
        rms_px=solution.rms_px,
        used=tuple(boards),
        view_rms_px=solution.view_rms_px,
        rejected=tuple(rejected),
        comparison=comparison,
        notes=_notes(boards, solution, values, effect, comparison.left_out_px),
    )
    return replace(fit, profile=replace(fit.profile, details=_details(fit, ruler_mm)))


def _notes(
    boards: Sequence[BoardPhoto], solution: Solution, values: Floats, effect: CornerEffect, left_out_px: float
) -> tuple[Note, ...]:
    notes = []
    normals = np.array([np.asarray(cv2.Rodrigues(t)[0])[:, 2] for t in solution.rotations])
    widest = np.degrees(np.arccos(np.clip(np.abs(normals @ normals.T), 0, 1))).max()
    if widest < ALIKE_DEG:
        notes.append(Note("views_alike"))
    seen = np.concatenate([p for b in boards for p in (b.corners.pixels, *b.sides)])
    width, height = boards[0].size_px
    reach = np.linalg.norm(seen - values[1:3], axis=1).max() / (np.hypot(width, height) / 2)
    if reach < NEAR_BORDER:
        notes.append(Note("border_unseen", {"bend_u95_px": f"{effect.bend_u95_px:.1f}"}))
    # A tenth of a pixel matters to nobody's panel: 0.01 mm.
    if left_out_px > 0.1:
        notes.append(Note("terms_left_out", {"left_out_px": f"{left_out_px:.2f}"}))
    return tuple(notes)


def _details(fit: LensFit, ruler_mm: tuple[float, float] | None) -> dict[str, Any]:
    """What the profile's file tells besides the lens itself."""
    effect = fit.effect
    taken = max((b.taken for b in fit.used if b.taken), default=None)
    models = [
        {"terms": list(m.solution.free), "rms_px": round(m.solution.rms_px, 4), "cost": round(m.cost, 1)}
        for m in fit.comparison.models
        if m.terms in PLAIN
    ]
    return {
        "rms_px": round(fit.rms_px, 4),
        "corner_bend_px": round(effect.bend_px, 3),
        "corner_bend_u95_px": round(effect.bend_u95_px, 3),
        "corner_bend_u95_mm": round(effect.bend_u95_mm, 4),
        "terms": list(fit.comparison.best.solution.free),
        "models": models,
        "left_out_px": round(fit.comparison.left_out_px, 4),
        "sheet_sides": sum(len(b.sides) for b in fit.used),
        "ruler_mm": None if ruler_mm is None else list(ruler_mm),
        "date": taken or datetime.now(UTC).date().isoformat(),
        "photos": [
            {
                "file": b.name,
                "sha256": b.sha256,
                "board": b.kind,
                "corners": len(b.corners.pixels),
                "rms_px": round(r, 4),
            }
            for b, r in zip(fit.used, fit.view_rms_px, strict=True)
        ],
        "left_out": [{"file": name, "reason": str(error)} for name, error in fit.rejected],
        "notes": [note.text for note in fit.notes],
    }
