"""What is told of a lens fit: remarks for the painter, and what the profile's file says of its making."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.lens.compare import PLAIN
from aligncheck.lens.effect import CornerEffect
from aligncheck.lens.lens_fit import LensFit
from aligncheck.lens.look import BoardPhoto
from aligncheck.lens.solve import Solution
from aligncheck.notes import Note

Floats = NDArray[np.float64]

#: Boards all within this angle of each other leave focal length and distance mixed, deg.
ALIKE_DEG = 15.0
#: Share of the way to the picture's corner that boards or sheets should reach.
NEAR_BORDER = 0.75
#: A sheet that stands out by this share of the board's length (a millimetre on A4) is worth pressing flat.
CURLED = 0.004


def remarks(
    boards: Sequence[BoardPhoto], solution: Solution, values: Floats, effect: CornerEffect, left_out_px: float
) -> tuple[Note, ...]:
    """What the painter should know of the photos: too alike, border not reached, bend of another kind."""
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
    rise = float(np.median([b.corners.rise for b in boards]))
    if rise > CURLED:
        notes.append(Note("sheet_curled", {"percent": f"{100 * rise:.1f}"}))
    # A tenth of a pixel matters to nobody's panel: 0.01 mm.
    if left_out_px > 0.1:
        notes.append(Note("terms_left_out", {"left_out_px": f"{left_out_px:.2f}"}))
    return tuple(notes)


def details(fit: LensFit, ruler_mm: tuple[float, float] | None) -> dict[str, Any]:
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
