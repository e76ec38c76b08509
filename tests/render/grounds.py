"""What tables are covered with, as a picture (n, n, 3) of relative brightness and colour about 1."""

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.noise import smooth, streaks

Picture = NDArray[np.float32]
Rng = np.random.Generator

#: Side and scale of the pictures; they mirror on at their sides.
SIDE_PX, PX_PER_MM = 1536, 3.0
SHAPE = (SIDE_PX, SIDE_PX)


def _toned(relief: Picture, strength: float) -> Picture:
    return np.asarray(np.clip(1 + strength * relief, 0.1, 3), np.float32)


def wood(rng: Rng, strength: float) -> Picture:
    """Grain, fine and broad."""
    relief = 0.5 * streaks(rng, SHAPE, 60 * PX_PER_MM, 1.0)
    relief += 0.6 * streaks(rng, SHAPE, 200 * PX_PER_MM, 7 * PX_PER_MM)
    return _toned(relief + 0.25 * smooth(rng, SHAPE, 1.5), strength)


def cloth(rng: Rng, strength: float) -> Picture:
    """Threads and soft folds."""
    threads = np.sin(np.arange(SIDE_PX) / PX_PER_MM * 2 * np.pi / 1.3).astype(np.float32)
    return _toned(0.3 * (threads[None, :] + threads[:, None]) + 0.8 * smooth(rng, SHAPE, 70 * PX_PER_MM), strength)


def plain(rng: Rng, strength: float) -> Picture:
    """Nearly even."""
    return _toned(0.25 * smooth(rng, SHAPE, 30 * PX_PER_MM) + 0.25 * smooth(rng, SHAPE, 2.0), strength)


def planks(rng: Rng, strength: float) -> Picture:
    """Boards with dark seams, each of its own tone, with knots."""
    tone = wood(rng, strength)
    width = int(rng.uniform(70, 140) * PX_PER_MM)
    for top in range(int(rng.integers(width)), SIDE_PX, width):
        tone[top : top + width] *= np.float32(rng.uniform(1 - strength, 1 + strength))
        tone[top : top + int(1.5 * PX_PER_MM)] *= np.float32(0.35)
    for _ in range(7):
        centre = tuple(int(v) for v in rng.integers(0, SIDE_PX, 2))
        axes = (int(rng.uniform(5, 14) * PX_PER_MM), int(rng.uniform(4, 9) * PX_PER_MM))
        knot = cv2.ellipse(np.zeros(SHAPE, np.float32), centre, axes, float(rng.uniform(0, 30)), 0, 360, 1.0, -1)
        tone *= 1 - 0.6 * cv2.GaussianBlur(knot, (0, 0), 1.5 * PX_PER_MM)
    return tone


def tiles(rng: Rng, strength: float) -> Picture:
    """Square tiles, each of its own tone, with grout between."""
    tone = plain(rng, strength)
    side, grout = int(rng.uniform(90, 160) * PX_PER_MM), int(rng.uniform(2.5, 5) * PX_PER_MM)
    light = np.float32(rng.choice([0.45, 1.5]))
    for top in range(-int(rng.integers(side)), SIDE_PX, side):
        for left in range(-int(rng.integers(side // 2)), SIDE_PX, side):
            tone[max(top, 0) : top + side, max(left, 0) : left + side] *= np.float32(rng.uniform(0.93, 1.07))
    offset = int(rng.integers(side))
    lines = (np.arange(SIDE_PX) + offset) % side < grout
    tone[lines] = light
    tone[:, lines] = light
    return cv2.GaussianBlur(tone, (0, 0), 0.3 * PX_PER_MM)


def newsprint(rng: Rng, strength: float) -> Picture:
    """Columns of words, headlines, pictures in frames."""
    tone = plain(rng, 0.05)
    column, gutter, line = int(48 * PX_PER_MM), int(4 * PX_PER_MM), int(3.4 * PX_PER_MM)
    for left in range(gutter, SIDE_PX - column, column + gutter):
        top = gutter
        while top < SIDE_PX - 60 * PX_PER_MM:
            kind = rng.random()
            if kind < 0.07:
                height = int(rng.uniform(25, 55) * PX_PER_MM)
                tone[top : top + height, left : left + column] = np.clip(
                    0.5 + 0.2 * smooth(rng, (height, column), 20), 0.1, 0.9
                )
            elif kind < 0.14:
                height = int(11 * PX_PER_MM)
                _words(tone, rng, (top, left, column), int(8 * PX_PER_MM), strength)
            else:
                height = line
                _words(tone, rng, (top, left, column), int(2 * PX_PER_MM), strength)
            top += height + (gutter if height > line else 0)
    return tone


def _words(tone: Picture, rng: Rng, place: tuple[int, int, int], height: int, strength: float) -> None:
    """One line of words as rows of upright strokes, in place."""
    top, left, width = place
    at = left
    while at < left + width:
        length = int(rng.integers(2, 9)) * height // 2
        end = min(at + length, left + width)
        letters = rng.random((height, max(end - at, 1))) < 0.45
        letters = cv2.resize(letters[:, :: max(height // 5, 1)].astype(np.float32), (max(end - at, 1), height))
        tone[top : top + height, at:end] *= 1 - np.float32(0.75 * strength / 0.25) * letters[:, : end - at]
        at = end + height // 2


def stripes(rng: Rng, strength: float) -> Picture:
    """Woven stripes of two more colours."""
    tone = np.repeat(cloth(rng, 0.08)[..., None], 3, axis=2)
    at = 0
    while at < SIDE_PX:
        width = int(rng.uniform(6, 45) * PX_PER_MM)
        if rng.random() < 0.5:
            tone[at : at + width] *= (1 + 2 * strength * rng.uniform(-1.4, 0.6, 3)).clip(0.15, 1.4).astype(np.float32)
        at += width
    return np.asarray(tone, np.float32)


def terrazzo(rng: Rng, strength: float) -> Picture:
    """Chips of stone, light and dark."""
    tone = np.repeat(plain(rng, 0.05)[..., None], 3, axis=2)
    for _ in range(2600):
        centre = rng.integers(0, SIDE_PX, 2)
        a = np.sort(rng.uniform(0, 2 * np.pi, 6))
        chip = centre + (rng.uniform(2, 9) * PX_PER_MM * rng.uniform(0.5, 1, 6))[:, None] * np.stack(
            [np.cos(a), np.sin(a)], -1
        )
        colour = (1 + 2 * strength * (rng.uniform(-1.5, 1) + 0.2 * rng.standard_normal(3))).clip(0.15, 1.7)
        cv2.fillPoly(tone, [chip.astype(np.int32)], colour.tolist(), cv2.LINE_AA)
    return np.asarray(tone, np.float32)


def carpet(rng: Rng, strength: float) -> Picture:
    """Deep pile, rough at every scale."""
    relief = 0.7 * smooth(rng, SHAPE, 1.6 * PX_PER_MM) + 0.5 * smooth(rng, SHAPE, 5 * PX_PER_MM)
    return _toned(relief + 0.5 * smooth(rng, SHAPE, 40 * PX_PER_MM), strength)


GROUNDS: dict[str, Callable[[Rng, float], Picture]] = {
    "plain": plain,
    "mat": plain,
    "wood": wood,
    "cloth": cloth,
    "planks": planks,
    "tiles": tiles,
    "newsprint": newsprint,
    "stripes": stripes,
    "terrazzo": terrazzo,
    "carpet": carpet,
}
