"""The drawing leads: with its centre and plane known, only turn and size of the panel about it are open."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.outlines import Outline, different, ranked
from aligncheck.panel.polish import polish
from aligncheck.panel.small import SmallView
from aligncheck.panel.wheel import Wheel

Floats = NDArray[np.floating]

#: The drawing leads only where it is one: agreement, and agreement x sqrt(share of pixels).
LEAST_PATTERN, LEAST_SURE = 0.55, 0.4
#: And fits into the picture: phones see 35 degrees to each side, 0.7 of the distance. Planks' grain goes on for ever.
MOST_RADIUS = 0.8
#: Half of the panel's shorter side in radii of the drawing: its diagonals may reach the corners, or nothing does.
SMALLEST, LARGEST, GROWTH = 0.68, 2.1, 1.012
#: The plane is turned in steps of this, and drawn on so many pixels across.
TURN_STEP_DEG, SIDE_PX = 1.25, 320
#: Steps are taken across this many pixels to both sides.
REACH_PX = 3
#: Painters measure the middle: the panel may lie this far off the drawing's centre (pixels), at a price.
SHIFT_PX, FREE_SHIFT_PX, SHIFT_PRICE = 5, 2, 0.06
#: The layout on a coarse grid is right to about this much (view pixels).
POLISH_PX = 6.0
#: Outlines handed on.
MOST = 6


def leads(wheel: Wheel) -> bool:
    """Whether the drawing is clear enough to lead the search."""
    return wheel.pattern > LEAST_PATTERN and wheel.sure > LEAST_SURE and wheel.radius < MOST_RADIUS


def led_outlines(view: SmallView, wheel: Wheel, width_mm: float, height_mm: float) -> list[Outline]:
    """Outlines about the drawing, best first; their corners are right to a few per cent of the side."""
    short = min(width_mm, height_mm)
    shape = (width_mm / short, height_mm / short)
    extent = wheel.radius * LARGEST * max(shape) * 1.02
    best: list[tuple[float, float, float, float, float]] = []
    for turn in np.radians(np.arange(-45, 45, TURN_STEP_DEG)):
        score, size, dx, dy = _best_sizes(_steps(view, wheel, float(turn), extent), wheel.radius / extent, shape)
        best += [
            (float(a), float(turn), float(b), float(c), float(d))
            for a, b, c, d in zip(score, size, dx, dy, strict=True)
        ]
    best.sort(key=lambda item: -item[0])
    corners = np.array([_corners(view, wheel, item, extent, shape) for item in best])
    limit = np.array([view.width, view.height]) - 0.5
    inside = ((corners > -3) & (corners < limit + 3)).all((1, 2))
    corners = corners[inside]
    return ranked(view, polish(view, corners[different(corners, MOST)], POLISH_PX)) if len(corners) else []


def _steps(view: SmallView, wheel: Wheel, turn: float, extent: float) -> tuple[Floats, Floats]:
    """Cumulated soft steps of the turned plane: downwards summed along rows, rightwards summed along columns."""
    span = (np.arange(0, SIDE_PX + 1, 16) / SIDE_PX * 2 - 1) * extent
    x, y = np.meshgrid(span, span)
    cosine, sine = np.cos(turn), np.sin(turn)
    nodes = wheel.to_view(np.stack([cosine * x - sine * y, sine * x + cosine * y], -1), view).astype(np.float32)
    # Nodes every 16 px are fine enough: the view's own perspective is mild.
    at = (np.indices((SIDE_PX, SIDE_PX), np.float32)[::-1] + 0.5) / 16
    maps = [
        cv2.remap(np.ascontiguousarray(nodes[..., k]), at[0], at[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for k in range(2)
    ]
    plane = cv2.remap(view.channels, maps[0], maps[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    noise = (4 * view.noise).astype(np.float32)
    down = np.zeros_like(plane)
    down[REACH_PX:-REACH_PX] = plane[2 * REACH_PX :] - plane[: -2 * REACH_PX]
    right = np.zeros_like(plane)
    right[:, REACH_PX:-REACH_PX] = plane[:, 2 * REACH_PX :] - plane[:, : -2 * REACH_PX]
    down, right = (v / (np.abs(v) + noise) for v in (down, right))
    along_rows = np.zeros((SIDE_PX, SIDE_PX + 1, 3))
    np.cumsum(down, axis=1, out=along_rows[:, 1:])
    along_columns = np.zeros((SIDE_PX, SIDE_PX + 1, 3))
    np.cumsum(right.transpose(1, 0, 2), axis=1, out=along_columns[:, 1:])
    return along_rows, along_columns


def _best_sizes(
    sums: tuple[Floats, Floats], radius: float, shape: tuple[float, float]
) -> tuple[Floats, Floats, Floats, Floats]:
    """Scores, sizes (half the shorter side, shares of the extent) and shifts (px) of the best four sizes."""
    count = int(np.log(LARGEST / SMALLEST) / np.log(GROWTH))
    size = radius * SMALLEST * GROWTH ** np.arange(count)
    half = SIDE_PX / 2
    wide, tall = size * shape[0] * half, size * shape[1] * half
    level, shift_y = _pair(sums[0], wide, tall)
    upright, shift_x = _pair(sums[1], tall, wide)
    steps = np.concatenate([level, upright], axis=1)
    strength = np.linalg.norm(steps, axis=-1)
    score = strength.sum(1) + 1.5 * (1 - np.exp(-((strength / 0.3) ** 2))).sum(1)
    score += 1.5 * np.linalg.norm(steps.mean(1), axis=-1)
    order = np.argsort(-score)[:4]
    return score[order], size[order], shift_x[order], shift_y[order]


def _pair(sums: Floats, length: Floats, apart: Floats) -> tuple[Floats, Floats]:
    """Inward steps (sizes, 2, 3) of two opposite sides of half `length` at +-`apart`, at their best common shift."""
    half = SIDE_PX / 2
    a = np.rint(half - 0.94 * length).astype(int)
    b = np.rint(half + 0.94 * length).astype(int)
    shifts = np.arange(-SHIFT_PX, SHIFT_PX + 1)
    found = []
    for sign in (-1, 1):
        row = np.rint(half - 0.5 + sign * apart[:, None] + shifts).astype(int)
        row = np.clip(row, 0, SIDE_PX - 1)
        mean = (sums[row, b[:, None]] - sums[row, a[:, None]]) / (b - a)[:, None, None]
        found.append(-sign * mean)
    both = np.stack(found, axis=2)
    price = SHIFT_PRICE * np.maximum(np.abs(shifts) - FREE_SHIFT_PX, 0)
    best = np.argmax(np.linalg.norm(both, axis=-1).sum(-1) - price, axis=1)
    rows = np.arange(len(length))
    return both[rows, best], shifts[best].astype(float)


def _corners(
    view: SmallView,
    wheel: Wheel,
    item: tuple[float, float, float, float, float],
    extent: float,
    shape: tuple[float, float],
) -> Floats:
    _, turn, size, dx, dy = item
    flat = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) * shape * size + np.array([dx, dy]) / (SIDE_PX / 2)
    cosine, sine = np.cos(turn), np.sin(turn)
    turned = np.stack([cosine * flat[:, 0] - sine * flat[:, 1], sine * flat[:, 0] + cosine * flat[:, 1]], -1)
    return wheel.to_view(turned * extent, view)
