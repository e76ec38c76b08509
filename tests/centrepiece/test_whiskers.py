"""Thin parts of a silhouette: a tip with an edge stays, a wiped stroke that fades out goes."""

import cv2
import numpy as np
import pytest

from aligncheck.centrepiece.outline import blunted
from aligncheck.centrepiece.whiskers import without_whiskers
from aligncheck.geometry.angles import outward

PX_PER_MM = 5.0
SHAPE = (300, 400)


def bar(top: int, height: int) -> np.ndarray:
    """From the disc to the right: 20 mm long."""
    mask = np.zeros(SHAPE, np.uint8)
    mask[top : top + height, 150:320] = 1
    return mask


def seen(disc: np.ndarray, stroke: np.ndarray, fades_mm: float) -> np.ndarray:
    """A light disc and a stroke half as light on a dark ground, through a lens, with noise."""
    soft = cv2.GaussianBlur(stroke.astype(np.float32), (0, 0), max(fades_mm * PX_PER_MM, 0.1))
    light = np.maximum(disc * 0.8, 0.4 * soft / soft.max()) * 0.6 + 0.2
    sharp = cv2.GaussianBlur(light.astype(np.float32), (0, 0), 0.15 * PX_PER_MM)
    noise = np.random.default_rng(1).normal(0, 0.01, (*SHAPE, 3))
    return (sharp[..., None] + noise).astype(np.float32)


@pytest.mark.parametrize(("fades_mm", "stays"), [(0.0, True), (1.1, False)], ids=["tip", "wiped"])
def test_a_tip_stays_and_a_wiped_stroke_goes(fades_mm: float, stays: bool) -> None:
    disc = cv2.circle(np.zeros(SHAPE, np.uint8), (110, 150), 75, 1, -1)
    stroke = bar(144, 12)
    mask = (disc | stroke) > 0
    kept = without_whiskers(mask, seen(disc, stroke, fades_mm), np.zeros(SHAPE, bool), PX_PER_MM)
    assert kept[disc > 0].all()
    assert kept[150, 300] == stays


def test_a_border_under_a_line_says_nothing() -> None:
    """Where only known lines lie beside a thin part, it stays."""
    disc = cv2.circle(np.zeros(SHAPE, np.uint8), (110, 150), 75, 1, -1)
    stroke = bar(144, 12)
    lines = cv2.dilate(stroke, np.ones((21, 21), np.uint8)) > 0
    mask = (disc | stroke) > 0
    assert (without_whiskers(mask, seen(disc, stroke, 1.1), lines, PX_PER_MM) == mask).all()


def test_a_silhouette_that_is_thin_all_over_stays() -> None:
    thin = bar(144, 12)
    kept = without_whiskers(thin > 0, seen(0 * thin, thin, 1.1), np.zeros(SHAPE, bool), PX_PER_MM)
    assert (kept == (thin > 0)).all()


def test_blunted_keeps_a_disc_and_loses_its_spike() -> None:
    """Nothing narrower than 8 mm reaches out any more; the disc is where it was."""
    circle = 30.0 * outward(np.arange(0.0, 360.0, 0.4))
    spiked = np.concatenate([circle[:225], [[45.0, 2.5], [45.0, -2.5]], circle[225:]])
    round_again = np.hypot(*blunted(spiked, 8.0).T)
    assert round_again.max() < 33.0
    assert round_again.min() > 29.5
    thin = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 3.0], [0.0, 3.0]])
    assert blunted(thin, 8.0) is thin
