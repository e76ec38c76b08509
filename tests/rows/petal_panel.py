"""A chalk-marked panel with rows of petals whose tips are known, seen from straight above."""

from dataclasses import dataclass, field

import cv2
import numpy as np

from aligncheck.drift import Drift, measure_drift
from aligncheck.marks import Centre, Marks, Ring, Spoke
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from tests.marks.drawn import photograph

SIZE_MM, PX_PER_MM, SEGMENTS, TURN_DEG = 240.0, 5.0, 10, 4.0
CENTRE_MM = np.array([1.5, -2.0])
RINGS_MM = (20.0, 40.0, 60.0, 80.0)
#: Row by row: halves of a segment from a spoke, tip and base radius, half angle of the base as a share of half a
#: segment.
PLAN = ((False, 52.0, 22.0, 0.85), (True, 78.0, 46.0, 0.8))


@dataclass
class PetalPanel:
    """Photo, drift of its marks (exact), and true tips (rows, segments, 2)."""

    photo: Photo
    drift: Drift
    tips_mm: np.ndarray
    plan: tuple = field(default=PLAN)


def side(tip: np.ndarray, base: np.ndarray, kind: str, turn: float) -> np.ndarray:
    """One side of a petal (n, 2) from its tip to its base, bowed away from the axis.

    An arc, a round end, or an ogee: from a tenth of the way on outside, before that both sides run into one line.
    """
    t = np.linspace(0, 1, 60)[:, None]
    chord = base - tip
    out = turn * np.array([chord[1], -chord[0]])
    if kind == "ogee":
        axis = -tip / np.hypot(*tip)
        straight = axis * (axis @ chord)
        # A share of the way across that begins with no slope at the tip.
        return np.asarray(tip + t * straight + (3 * t**2 - 2 * t**3) ** 0.8 * (chord - straight))
    bow = 0.4 * t * (1 - t) if kind == "pointed" else 0.42 * np.sqrt(t) * (1 - t)
    return np.asarray(tip + t * chord + bow * out)


def draw(
    kind: str = "pointed",
    short: tuple[int, int, float] | None = None,
    rows: int = 2,
    seed: int = 3,
    panel_rgb: tuple[int, int, int] = (40, 40, 44),
    chalk_rgb: tuple[int, int, int] = (225, 225, 225),
    untraced: frozenset[tuple[int, int]] = frozenset(),
    plan: tuple[tuple[float, float, float, float], ...] = PLAN,
) -> PetalPanel:
    """Draw it: `short` is row, segment and how many mm its tip lies too far in; `untraced` are rows and segments."""
    rng = np.random.default_rng(seed)
    n = round(SIZE_MM * PX_PER_MM)
    fine = np.zeros((n, n), np.float32)

    def line(points: np.ndarray, width_mm: float = 1.0) -> None:
        p = (np.asarray(points) + SIZE_MM / 2) * PX_PER_MM - 0.5
        cv2.polylines(fine, [np.round(p * 16).astype(np.int32)], False, 1.0, round(width_mm * PX_PER_MM), cv2.LINE_8, 4)

    out = [np.array([np.sin(a), -np.cos(a)]) for a in np.radians(TURN_DEG + 360 / SEGMENTS * np.arange(SEGMENTS))]
    for o in out:
        line(np.array([CENTRE_MM + 6 * o, CENTRE_MM + 88 * o]))
    circle = np.radians(np.arange(0, 361, 2))
    for r in RINGS_MM:
        line(CENTRE_MM + r * np.column_stack([np.sin(circle), -np.cos(circle)]))
    tips = np.zeros((rows, SEGMENTS, 2))
    for row, (between, tip_mm, base_mm, share) in enumerate(plan[:rows]):
        for k in range(SEGMENTS):
            axis = np.radians(TURN_DEG + 360 / SEGMENTS * (k + between / 2))
            half = share * np.pi / SEGMENTS
            inward = short[2] if short and short[:2] == (row, k) else 0.0

            def at(radius: float, angle: float, sd: float) -> np.ndarray:
                return CENTRE_MM + radius * np.array([np.sin(angle), -np.cos(angle)]) + rng.normal(scale=sd, size=2)

            tip = at(tip_mm - inward, axis, 0.5)
            tips[row, k] = tip
            if (row, k) in untraced:
                continue
            for turn in (1.0, -1.0):
                line(side(tip, at(base_mm, axis + turn * half, 0.4), kind, turn), 0.9)
    # Grain: chalk takes on the tips of the ground only.
    grain = cv2.GaussianBlur(rng.normal(size=fine.shape).astype(np.float32), (0, 0), 0.6)
    cover = cv2.GaussianBlur(fine * (grain < np.quantile(grain, 0.8)), (0, 0), 0.8)
    photo, panel = photograph(cover, SIZE_MM, PX_PER_MM, rng, panel_rgb, chalk_rgb)
    return PetalPanel(photo, measure_drift(exact_marks(panel, out)), tips, plan)


def exact_marks(panel: Panel, out: list[np.ndarray]) -> Marks:
    """The spokes and rings as drawn."""
    own = 1e-4 * np.eye(2)
    spokes = tuple(Spoke(CENTRE_MM + 6 * o, CENTRE_MM + 88 * o, own, 1.0, (0.1, 0.1), k) for k, o in enumerate(out))
    rings = tuple(Ring(CENTRE_MM, r, 1e-4 * np.eye(3), 1.0) for r in RINGS_MM)
    return Marks(panel, Centre(CENTRE_MM, own, "mark"), None, SEGMENTS, spokes, rings)
