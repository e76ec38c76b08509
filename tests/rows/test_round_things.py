"""Panels so densely covered that neither single blobs nor bare places tell."""

import cv2
import numpy as np

from aligncheck.rows.round_things import count_round
from aligncheck.rows.view import ColourView

SIDE_PX, PX_PER_MM = 600, 2.0
MIDDLE = np.array([300.0, 300.0])


def view_of(draw: np.ndarray) -> ColourView:
    noisy = cv2.GaussianBlur(draw, (0, 0), 0.7) + np.random.default_rng(3).normal(0, 0.01, (*draw.shape[:2], 3))
    return ColourView(noisy.astype(np.float32), PX_PER_MM, (299.5, 299.5))


def bare() -> np.ndarray:
    return np.full((SIDE_PX, SIDE_PX, 3), 0.35, np.float32)


def whole() -> np.ndarray:
    return np.ones((SIDE_PX, SIDE_PX), bool)


def rings_of_dots() -> np.ndarray:
    """Rings of dots of 5 mm, 5 mm from one another, so that all touch their neighbours to both sides."""
    picture = bare()
    for ring in range(2, 24, 2):
        number = int(2 * np.pi * ring * 5 / 5.05)
        for a in np.arange(number) * (2 * np.pi / number):
            at = MIDDLE + ring * 5 * PX_PER_MM * np.array([np.sin(a), -np.cos(a)])
            cv2.circle(picture, tuple(int(v * 16) for v in at), int(2.5 * PX_PER_MM * 16), (0.8, 0.5, 0.3), -1, 16, 4)
    return picture


def strokes(width_mm: float) -> np.ndarray:
    """Spokes and rings drawn broad."""
    picture = bare()
    for radius in range(20, 130, 12):
        cv2.circle(
            picture, (300, 300), round(radius * PX_PER_MM), (0.9, 0.9, 0.9), round(width_mm * PX_PER_MM), cv2.LINE_AA
        )
    for a in np.arange(24) * (2 * np.pi / 24):
        ends = [MIDDLE + far * PX_PER_MM * np.array([np.sin(a), -np.cos(a)]) for far in (15, 135)]
        start, end = (tuple(int(v) for v in at) for at in ends)
        cv2.line(picture, start, end, (0.9, 0.9, 0.9), round(width_mm * PX_PER_MM), cv2.LINE_AA)
    return picture


def test_dots_that_touch_are_counted_one_by_one() -> None:
    painted = sum(int(2 * np.pi * ring * 5 / 5.05) for ring in range(2, 24, 2))
    assert 0.7 * painted < count_round(view_of(rings_of_dots()), whole(), whole()) < 1.1 * painted


def test_broad_strokes_are_no_round_things_nor_are_their_crossings_on_known_lines() -> None:
    for width in (1.5, 3.0):
        picture = strokes(width)
        free = cv2.dilate((picture[..., 0] > 0.4).astype(np.uint8), np.ones((5, 5), np.uint8)) == 0
        assert count_round(view_of(picture), whole(), free) < 12


def test_a_bare_panel_has_none() -> None:
    assert count_round(view_of(bare()), whole(), whole()) == 0
