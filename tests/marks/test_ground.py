"""A wiped line along one side of a stroke must not draw the stroke towards it."""

import cv2
import numpy as np
import pytest

from aligncheck.marks.ground import level_ground
from aligncheck.marks.kernel import learn_kernels
from aligncheck.marks.profile import Profile
from aligncheck.marks.rows import row_offsets_mm, without_baseline

FINE = np.arange(-3.0, 3.001, 0.02)
PROFILE = Profile(1.0, 0.25)
OFFSETS = row_offsets_mm(PROFILE.seen_mm, 0.15)
STEP = 1.0
ALL = np.ones((8, 210), bool)


def strip(rng: np.random.Generator, away_mm: np.ndarray, wiped: float, wiped_sd_mm: float = 1.0, shift_mm: float = 0.0):
    """Rows (8, R, M) of strokes of dry chalk, as a camera codes them, a wiped line `away_mm` (R,) beside the first."""
    grain = cv2.GaussianBlur(rng.normal(size=(8 * len(away_mm), len(FINE))), (0, 1), 7.0, sigmaY=1e-3)
    dots = (grain < np.quantile(grain, 0.85)).reshape(8, len(away_mm), -1)
    chalk = 1.0 * dots * (np.abs(FINE - shift_mm) < 0.5)
    film = wiped * np.exp(-0.5 * ((FINE - away_mm[:, None]) / wiped_sd_mm) ** 2)
    chalk[0] = np.maximum(chalk[0], film)
    # Light is blurred, codes are not: sRGB's curve is close to the power of 1 / 2.2.
    kernel = np.exp(-0.5 * (np.arange(-0.6, 0.61, 0.02) / 0.2) ** 2)
    light = 0.06 + 0.8 * cv2.filter2D(chalk.astype(float).reshape(-1, len(FINE)), -1, kernel[None] / kernel.sum())
    codes = 255 * light ** (1 / 2.2)
    rows = np.stack([np.interp(OFFSETS, FINE, row) for row in codes]).reshape(8, len(away_mm), -1)
    return rows + rng.normal(scale=2.0, size=rows.shape)


def places(rows: np.ndarray, alone: np.ndarray | None = None) -> np.ndarray:
    """Where (S, R) a kernel learned from these rows sees the strokes; `alone`: after their ground was levelled."""
    if alone is not None:
        rows = level_ground(rows, OFFSETS, PROFILE, alone, STEP, 150.0)
    values = without_baseline(rows, OFFSETS, PROFILE.seen_mm) / 150
    amplitude = np.random.default_rng(0).uniform(0.95, 1.05, values.shape[:2])
    kernels = learn_kernels(values.reshape(-1, len(OFFSETS)), amplitude.ravel(), OFFSETS, PROFILE.seen_mm)
    assert kernels is not None
    return kernels.offsets(values, amplitude)


@pytest.mark.parametrize("wiped_sd_mm", [0.9, 1.2, 1.6])
def test_a_wiped_line_that_nears_a_stroke_does_not_turn_it(wiped_sd_mm):
    """It draws rows more the nearer it is, which turns the stroke's line."""
    away = np.linspace(0.5, 4.0, 210)
    rows = strip(np.random.default_rng(1), away, 0.1, wiped_sd_mm)
    before, after = (np.polyfit(away, found[0], 1)[0] for found in (places(rows), places(rows, ALL)))
    assert before < -0.005
    assert abs(after) < 0.45 * abs(before)


def test_even_ground_is_left_alone():
    rows = strip(np.random.default_rng(2), np.full(210, 9.0), 0.0) + 0.5 * OFFSETS
    change = places(rows, ALL) - places(rows)
    assert np.sqrt(np.mean(change**2)) < 0.1 * places(rows).std()


def test_a_stroke_off_its_path_keeps_its_offset():
    """What shows of the stroke's own edge on one side is no smear."""
    rows = strip(np.random.default_rng(3), np.full(210, 9.0), 0.0, shift_mm=0.1)
    moved = level_ground(rows, OFFSETS, PROFILE, ALL, STEP, 150.0) - rows
    assert np.abs(moved).max() < 2
