import numpy as np
import pytest

from aligncheck.marks.bows import FREE_MM, legendre, robust_fit
from aligncheck.marks.kink import find_kink
from aligncheck.marks.pieces import fit_pieces, with_doubt
from tests.closeness import assert_mostly_within

ALONG = np.arange(1.0, 130.0)


def rows_of(shapes: np.ndarray, rng: np.random.Generator, scatter: float = 0.05) -> tuple[np.ndarray, np.ndarray]:
    """Offsets with grain that is alike over about a row and a half, and weights of drawn rows."""
    noise = rng.normal(size=(len(shapes), len(ALONG) + 1)) * scatter
    weights = np.where((ALONG > 8) & (ALONG < 122), 1.0, 0.0) * np.ones((len(shapes), 1))
    return shapes + 0.83 * noise[:, 1:] + 0.56 * noise[:, :-1], weights


def spans(count: int) -> tuple[np.ndarray, np.ndarray]:
    return np.full(count, 8.0), np.full(count, 122.0)


def bowed(count: int, size: float, rng: np.random.Generator) -> np.ndarray:
    inner, outer = spans(count)
    bows = rng.normal(size=(count, 4)) * size * np.array([1.0, 0.6, 0.4, 0.2])
    return np.einsum("srp,sp->sr", legendre(ALONG, inner, outer)[..., 2:], bows)


def test_line_is_that_of_the_whole_stroke_though_half_of_it_is_missing():
    rng = np.random.default_rng(1)
    offset, weights = rows_of(bowed(1, 0.1, rng), rng, 0.002)
    weights[:, (ALONG > 60) & (ALONG < 100)] = 0
    basis = legendre(ALONG, *spans(1))
    fit = robust_fit(basis, offset, weights, np.array([FREE_MM, FREE_MM, 0.2, 0.2, 0.1, 0.1]), 1.0)
    assert_mostly_within(fit.coefficients[0, :2], 3 * np.sqrt(np.diag(fit.covariance[0])[:2]))
    assert np.abs(fit.coefficients[0, :2]).max() < 0.01


def test_outliers_do_not_move_the_line():
    rng = np.random.default_rng(2)
    offset, weights = rows_of(np.zeros((3, len(ALONG))), rng)
    spoilt = offset.copy()
    spoilt[:, 90:105] += 1.0
    basis = legendre(ALONG, *spans(3))
    prior = np.array([FREE_MM, FREE_MM, 0.01, 0.01, 0.01, 0.01])
    clean, dirty = (robust_fit(basis, o, weights, prior, 1.0) for o in (offset, spoilt))
    assert np.abs(clean.coefficients - dirty.coefficients).max() < 0.02


@pytest.mark.parametrize("bow", [0.0, 0.08])
def test_intervals_hold_on_ruled_and_on_bowed_strokes(bow):
    rng = np.random.default_rng(3)
    errors, u95s = [], []
    for _ in range(8):
        offset, weights = rows_of(bowed(12, bow, rng), rng)
        pieces = fit_pieces(ALONG, offset, weights, *spans(12), None, 0.03)
        for s in range(12):
            row = pieces.end_rows(s, np.array([122.0]), False)
            errors.append((row @ pieces.fit.coefficients[s]).item())
            u95s.append(1.96 * np.sqrt(row @ pieces.fit.covariance[s] @ row.T).item())
    assert_mostly_within(errors, u95s)


def kink_of(shapes: np.ndarray, rng: np.random.Generator):
    offset, weights = rows_of(shapes, rng)
    inner, outer = spans(len(shapes))
    straight = fit_pieces(ALONG, offset, weights, inner, outer, None, 0.03)
    # The grain of `rows_of` makes (0.83 + 0.56)^2 rows one independent value.
    precision = weights / (0.05**2 * 1.93)
    found = find_kink(ALONG, offset, precision, (8.0, 122.0))
    return found, offset, weights, straight


def test_strokes_that_all_turn_at_one_distance_are_two():
    rng = np.random.default_rng(4)
    turns = np.radians(rng.normal(scale=0.6, size=12))
    shapes = turns[:, None] * np.maximum(ALONG - 75, 0)
    found, offset, weights, _ = kink_of(shapes, rng)
    assert found.chance > 0.97
    pieces = fit_pieces(ALONG, offset, weights, *spans(12), found.at_mm, 0.02)
    assert np.median(pieces.hinge_mm) == pytest.approx(75, abs=3)
    ends = [(pieces.end_rows(s, np.array([122.0]), True) @ pieces.fit.coefficients[s]).item() for s in range(12)]
    assert np.abs(np.array(ends) - turns * 47).max() < 0.08


@pytest.mark.parametrize("bow", [0.0, 0.05, 0.15, 0.4])
def test_bows_are_no_kinks(bow):
    rng = np.random.default_rng(6)
    chances = [kink_of(bowed(12, bow, rng), rng)[0].chance for _ in range(6)]
    assert np.median(chances) < 0.15
    assert max(chances) < 0.5


def test_strokes_that_hardly_turn_but_start_aside_are_two():
    """0.2 degrees and 0.15 mm, each second stroke starting where the hand laid the ruler: found all the same."""
    rng = np.random.default_rng(8)
    at = rng.normal(70, 2.5, size=(12, 1))
    turns, jumps = np.radians(rng.normal(scale=0.2, size=(12, 1))), rng.normal(scale=0.15, size=(12, 1))
    shapes = np.where(at < ALONG, jumps + turns * (ALONG - at), 0.0)
    found, offset, weights, _ = kink_of(shapes, rng)
    assert found.chance > 0.97
    assert found.at_mm == pytest.approx(70, abs=6)
    pieces = fit_pieces(ALONG, offset, weights, *spans(12), found.at_mm, 0.02)
    ends = [(pieces.end_rows(s, np.array([122.0]), True) @ pieces.fit.coefficients[s]).item() for s in range(12)]
    assert np.sqrt(np.mean((np.array(ends) - shapes[:, ALONG == 122][:, 0]) ** 2)) < 0.04


def test_a_bowed_line_is_less_sure_where_its_ends_are():
    """Lines through the same bowed path over other spans scatter as their ends' uncertainty says."""
    pieces = fit_pieces(
        ALONG, *rows_of(bowed(1, 0.3, np.random.default_rng(9)), np.random.default_rng(9)), *spans(1), None, 0.3
    )
    path = pieces.path()[0]
    rng = np.random.default_rng(10)
    lines = []
    for inner, outer in np.array([8.0, 122.0]) + rng.normal(size=(400, 2)) * (2.0, 1.0):
        r = np.linspace(max(inner, 1.0), min(outer, 129.0), 400)
        slope, level = np.polyfit(r, np.interp(r, ALONG, path), 1)
        lines.append([level + slope * 8.0, level + slope * 122.0])
    scatter = np.cov(np.array(lines).T)
    np.testing.assert_allclose(
        np.sqrt(np.diag(pieces.end_shift(0, np.array([2.0, 1.0])))), np.sqrt(np.diag(scatter)), rtol=0.3
    )


def test_doubt_widens():
    rng = np.random.default_rng(7)
    turns = np.radians(rng.normal(scale=0.6, size=12))
    found, offset, weights, straight = kink_of(turns[:, None] * np.maximum(ALONG - 75, 0), rng)
    two = fit_pieces(ALONG, offset, weights, *spans(12), found.at_mm, 0.02)
    row = straight.end_rows(0, np.array([122.0]), False)[0]
    away = (two.end_rows(0, np.array([122.0]), True) @ two.fit.coefficients[0]).item()
    away -= float(row @ straight.fit.coefficients[0])
    added = row @ with_doubt(straight, two, 0.5).hinge_spread[0] @ row
    assert added == pytest.approx(0.25 * away**2)
