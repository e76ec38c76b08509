"""Short strokes through the centre: what is claimed of one that little is left of."""

import cv2
import numpy as np
import pytest

from aligncheck.marks.arms import ROW_MM, STEP_MM, Patch, _peak, find_arm

WIDTH_MM, BLUR_MM = 0.9, 0.15


def rest_of_an_arm(length_mm: float, rng: np.random.Generator) -> Patch:
    """A grainy stroke exactly along the patch's middle, of which `length_mm` is left."""
    along = np.arange(-9, 9 + ROW_MM / 2, ROW_MM)
    offsets = np.arange(-4, 4 + STEP_MM / 2, STEP_MM)
    grain = cv2.GaussianBlur(rng.normal(size=(len(along), len(offsets))).astype(np.float32), (0, 0), 4.0, sigmaY=2.0)
    stroke = (np.abs(offsets) < WIDTH_MM / 2) & (np.abs(along - rng.uniform(-3, 3)) < length_mm / 2)[:, None]
    cover = (stroke & (grain < np.quantile(grain, 0.6))).astype(np.float32)
    values = 100 * cv2.GaussianBlur(cover, (0, 0), BLUR_MM / STEP_MM, sigmaY=0.5) + rng.normal(size=cover.shape)
    return Patch(values, np.ones(cover.shape, bool), along, offsets, np.array([1.0, 0.0]))


def held(length_mm: float, count: int = 120) -> float:
    """Share of 95 % intervals that hold the truth."""
    rng = np.random.default_rng(11)
    arms = [find_arm(rest_of_an_arm(length_mm, rng), WIDTH_MM, BLUR_MM, 100.0, 1.0) for _ in range(count)]
    return float(np.mean([abs(arm.offset_mm) < 1.96 * arm.sd_mm for arm in arms if arm is not None]))


def test_an_arm_of_few_grains_claims_no_more_than_it_shows():
    """Four millimetres are four voices: their scatter is itself known by a few."""
    assert held(4.0) > 0.9


def test_a_long_arm_is_not_called_unsure():
    rng = np.random.default_rng(12)
    arms = [find_arm(rest_of_an_arm(14.0, rng), WIDTH_MM, BLUR_MM, 100.0, 1.0) for _ in range(40)]
    errors = np.array([(arm.offset_mm, arm.sd_mm) for arm in arms if arm is not None])
    assert np.sqrt((errors[:, 0] ** 2).mean()) > 0.5 * errors[:, 1].mean()


def test_where_the_search_stopped_widens_no_claim():
    """What pulls all rows to the top of a ridge is no scatter between them: a step beside it, the claim is alike."""
    offsets, along = np.arange(81) - 40.0, np.linspace(-9, 9, 73)
    wandering = cv2.GaussianBlur(np.random.default_rng(5).normal(0, 1.5, (73, 1)), (0, 0), 0.01, sigmaY=1.5)
    gain = 1 - ((offsets - wandering) / 60) ** 2
    at_top, beside = (_peak(gain, np.full(73, 40 + k), along, k * STEP_MM, 0.0) for k in (0, -1))
    assert beside[0] == pytest.approx(at_top[0], abs=1e-3)
    assert beside[1] == pytest.approx(at_top[1], rel=0.02)
