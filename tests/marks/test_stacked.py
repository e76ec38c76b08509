"""Strokes upon and beside each other in one strip: how they look, and that each is placed where it lies."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from aligncheck.geometry.normal import normal_cdf
from aligncheck.marks.profile import Profile
from aligncheck.marks.stacked import shown, steps_of
from aligncheck.marks.strip_model import Partner
from aligncheck.marks.union import fit_union

ROWS, STEP_MM, BLUR_MM, WIDTH_MM = 120, 0.7, 0.35, 0.85
OFFSETS = np.linspace(-3.9, 3.9, 79)


def blurred_union(edges, heights, offsets=OFFSETS, blur=BLUR_MM):
    """The highest of boxes (2, L) on a fine grid, blurred, by brute force."""
    fine = np.linspace(-6, 6, 1201)
    on = (fine >= edges[0][:, None]) & (fine <= edges[1][:, None])
    union = (on * np.asarray(heights)[:, None]).max(0)
    return np.interp(offsets, fine, gaussian_filter1d(union, blur / (fine[1] - fine[0])))


def drawn(edges, heights):
    ramps = normal_cdf((OFFSETS - edges[..., None]) / BLUR_MM)
    steps = steps_of(edges[..., None].astype(np.float32), heights[:, None].astype(np.float32))[..., 0]
    return (steps[0][:, None] * ramps[0] - steps[1][:, None] * ramps[1]).sum(0)


@pytest.mark.parametrize("lines", [1, 2, 3])
def test_boxes_are_blurred_as_one(lines):
    rng = np.random.default_rng(lines)
    for _ in range(40):
        middle, half = rng.uniform(-1, 1, lines), rng.uniform(0.2, 0.7, lines)
        edges, heights = np.stack([middle - half, middle + half]), rng.uniform(0.2, 1.2, lines)
        assert drawn(edges, heights) == pytest.approx(blurred_union(edges, heights), abs=0.01)


def test_lines_of_one_place_and_height_are_one():
    edges = np.array([[-0.4, -0.4], [0.4, 0.4]])
    assert drawn(edges, np.ones(2)) == pytest.approx(blurred_union(edges, np.ones(2)), abs=0.01)


def test_what_shows_of_each_line_adds_up_to_the_picture():
    edges = np.array([[-0.9, -0.2, 0.3], [0.1, 0.7, 1.4]])
    heights = np.array([0.5, 1.0, 0.7])
    ramps = normal_cdf((OFFSETS - edges[..., None]) / BLUR_MM)[:, :, None].astype(np.float32)
    parts = shown(edges[..., None].astype(np.float32), ramps, heights[:, None].astype(np.float32))[:, 0]
    assert heights @ parts == pytest.approx(blurred_union(edges, heights), abs=0.01)


def fitted(spoke, partner, rng, ghost=None):
    """Fit the strip of a spoke that runs from `spoke[0]` to `spoke[1]` mm aside, a line beside it, and a faint one."""
    u = np.linspace(0, 1, ROWS)[:, None]
    at = [a + (b - a) * u for a, b in (spoke, partner, ghost or (0.0, 0.0))]
    edges = np.stack([np.concatenate([line + side * WIDTH_MM / 2 for line in at], 1) for side in (-1, 1)])
    heights = np.array([1.0, 1.0, 0.25 if ghost else 0.0])
    values = np.array([blurred_union(edges[:, row], heights) for row in range(ROWS)])
    values += 0.04 * gaussian_filter1d(rng.normal(size=values.shape), 1.5, axis=1)
    basis = np.stack([np.ones(ROWS), np.linspace(-1, 1, ROWS)], 1)
    lines = (Partner(partner[0] + (partner[1] - partner[0]) * u[:, 0], 0.05, WIDTH_MM),)
    rows = np.ones(ROWS, bool)
    profile = Profile(WIDTH_MM, BLUR_MM)
    start = np.zeros(2)
    return fit_union(values, OFFSETS, rows, basis, np.full(2, 1.5), (0, ROWS - 1), lines, profile, STEP_MM, (start,))


@pytest.mark.parametrize("apart", [0.7, 0.85, 1.0])
def test_a_spoke_beside_another_line_is_not_widened_over_both(apart):
    """Strokes about a width apart leave no dip between them: one broad stroke must not pass for the two."""
    for seed in range(3):
        found = fitted((0.1 - apart, -0.1 - apart), (0.0, 0.0), np.random.default_rng([5, seed]))
        assert found.width_mm == pytest.approx(WIDTH_MM, abs=0.15)
        assert found.coefficients == pytest.approx([-apart, -0.1], abs=0.06)


def test_a_spoke_upon_another_line_does_not_leave_for_a_wiped_one():
    """Nothing of it shows by itself, but a spoke as faint as a wiped line would be stranger still."""
    for seed in range(3):
        found = fitted((0.1, -0.1), (0.0, 0.0), np.random.default_rng([6, seed]), ghost=(-1.6, 1.2))
        assert found.coefficients == pytest.approx([0.0, -0.1], abs=0.25)
