"""Stages with known figures for the tests of the record: no photo, no check, a few milliseconds each."""

import io
from typing import Any

import numpy as np
from PIL import Image

from aligncheck.geometry.angles import bearing, outward
from aligncheck.geometry.projective import apply_homography, homography_from_corners
from aligncheck.panel.panel import nominal_corners
from aligncheck.record.store import Shown
from aligncheck.result.write import as_jpeg, as_json

SIZE_MM = 304.8
SEGMENTS = 12
RINGS_MM = (12.7, 38.1, 63.5, 88.9)


def jpeg(seed: int, side: int = 96) -> bytes:
    """A photo's bytes, different for every seed."""
    noise = np.random.default_rng(seed).integers(0, 255, (side, side, 3), dtype=np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(noise).save(buffer, "JPEG", quality=90)
    return buffer.getvalue()


def hand_drawn(seed: int = 5, spread_mm: float = 0.8) -> list[np.ndarray]:
    """Spokes (2, 2) as a hand draws them: inner and outer end, a little beside their place."""
    rng = np.random.default_rng(seed)
    spokes = []
    for k in range(SEGMENTS):
        across = outward(360.0 * k / SEGMENTS + 90)
        end = 110 * outward(360.0 * k / SEGMENTS) + rng.normal(0, spread_mm) * across
        spokes.append(np.array([6 * outward(360.0 * k / SEGMENTS), end]))
    return spokes


def result_of(
    spokes: list[np.ndarray],
    corner_errors_mm: np.ndarray | None = None,
    quarters: int = 0,
    noise_mm: float = 0.0,
    seed: int = 0,
    rings_mm: tuple[float, ...] = RINGS_MM,
) -> dict[str, Any]:
    """The result file of a photo that sees the corners wrong by `corner_errors_mm` (4, 2), panel turned back."""
    rng = np.random.default_rng(seed)
    corners = nominal_corners(SIZE_MM, SIZE_MM)
    wrong = homography_from_corners(corners, corners + (0 if corner_errors_mm is None else corner_errors_mm))
    back = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), quarters)

    def seen(points: np.ndarray) -> np.ndarray:
        return apply_homography(wrong, points @ back.T) + rng.normal(0, noise_mm or 1e-12, np.shape(points))

    drawn = {round(float(bearing(s[1])) * SEGMENTS / 360) % SEGMENTS: s for s in (seen(s) for s in spokes)}
    circle = np.array([outward(a) for a in range(0, 360, 10)])
    return {
        "schema": "aligncheck-result-1",
        "stage": "marked",
        "panel": {"width_mm": SIZE_MM, "height_mm": SIZE_MM, "corner_u95_mm": [0.4] * 4},
        "centre": {"x_mm": float(seen(np.zeros(2))[0]), "y_mm": 0.0, "u95_mm": 0.1, "source": "spokes"},
        "segments": SEGMENTS,
        "tolerance_mm": 1.0,
        "spokes": [_spoke(s, k) for k, s in sorted(drawn.items())],
        "rings": [_ring(seen(r * circle), r, k + 1) for k, r in enumerate(rings_mm)],
        "notes": [],
    }


def _spoke(ends: np.ndarray, place: int) -> dict[str, Any]:
    ideal = 360.0 * place / SEGMENTS
    move = -float(ends[1] @ outward(ideal + 90))
    verdict = "out" if abs(move) > 1.2 else "within" if abs(move) < 0.8 else "unsure"
    return {
        "inner_mm": ends[0].tolist(), "outer_mm": ends[1].tolist(), "angle_deg": float(bearing(ends[1] - ends[0])),
        "ideal_deg": ideal, "move_mm": move, "move_u95_mm": 0.2, "verdict": verdict, "strokes": [],
    }  # fmt: skip


def _ring(points: np.ndarray, radius: float, number: int) -> dict[str, Any]:
    centre = points.mean(axis=0)
    seen = float(np.linalg.norm(points - centre, axis=1).mean())
    return {
        "number": number, "centre_mm": centre.tolist(), "radius_mm": seen, "radius_u95_mm": 0.1, "roundness_mm": 0.2,
        "ideal_radius_mm": radius, "drift_mm": seen - radius, "drift_u95_mm": 0.1, "verdict": "within",
    }  # fmt: skip


def shown(seed: int, result: dict[str, Any] | None = None, taken: str | None = None, **more: Any) -> Shown:
    """What a photo showed, its picture a drawing of nothing; without spokes given, hand-drawn ones."""
    flat = np.full((120, 120, 3), (30 + seed % 100, 40, 80), np.uint8)
    flat[::15] = 220
    picture = as_jpeg(flat)
    files = {".json": as_json(result or result_of(hand_drawn())), ".flat.jpg": picture, ".overlay.jpg": picture}
    values: dict[str, Any] = {
        "photo": jpeg(seed), "photo_ending": ".jpg", "original_name": f"IMG_{seed:04d}.jpg",
        "files": {**files, ".flat-overlay.jpg": picture}, "taken": taken, "measured": True, "kind": "fits",
        "headline": "Everything fits", "second": "12 spokes within 1.0 mm of the plan", "title": "Marked",
        "words": ("Everything fits",), "stage": "marked",
    }  # fmt: skip
    return Shown(**{**values, **more})


def fake_measure(path: Any, record: Any, **options: Any) -> Shown:
    """Stands in for the check."""
    data = path.read_bytes()
    return shown(len(data), photo=data, original_name=path.name)
