"""The fast stand-ins for NumPy's medians, quantiles and polynomials give what NumPy's own give."""

import numpy as np
import pytest

from aligncheck.geometry.legendre import legendre
from aligncheck.geometry.small import distinct, median, medians, nanmedians, quantile, weighted_median

RNG = np.random.default_rng(7)


@pytest.mark.parametrize("shape", [(1, 3), (4, 5), (3, 8), (2, 3, 64), (1201, 2), (2, 1200)])
def test_medians_along_any_axis(shape: tuple[int, ...]) -> None:
    """Odd and even counts, first and last axis, single and double precision."""
    values = RNG.normal(size=shape)
    for axis in (0, -1):
        assert np.array_equal(medians(values, axis), np.median(values, axis=axis))
        single = values.astype(np.float32)
        assert np.array_equal(medians(single, axis), np.median(single, axis=axis))
    assert median(values) == np.median(values)


def test_a_median_of_codes_does_not_overflow() -> None:
    for count in (6, 2000):
        codes = RNG.integers(200, 256, count).astype(np.uint8)
        assert median(codes) == np.median(codes)
    assert np.isnan(median([]))


@pytest.mark.parametrize("share", [0.0, 0.05, 0.1, 0.8, 0.95, 1.0])
def test_quantiles(share: float) -> None:
    """Linear between values, at the ends too, along both axes."""
    values = RNG.normal(size=(7, 1200))
    for axis in (0, -1):
        own = np.quantile(values, share, axis=axis)
        assert np.allclose(quantile(values, share, axis), own, rtol=0, atol=1e-14)
        assert np.allclose(quantile(values, share, axis, alike=True), own, rtol=0, atol=1e-14)


def test_medians_of_what_is_known() -> None:
    """NaN are left out; a row of nothing else is NaN."""
    values = RNG.normal(size=(4, 9))
    values[0, 2:7] = np.nan
    values[1, 0] = np.nan
    values[3] = np.nan
    found = nanmedians(values)
    assert np.array_equal(found[:3], np.nanmedian(values[:3], axis=1))
    assert np.isnan(found[3])


def test_distinct_values() -> None:
    """Each once, rising, infinity among them."""
    values = np.array([3.0, np.inf, 1.0, 3.0, np.inf, -2.0])
    assert np.array_equal(distinct(values), np.unique(values))


def test_legendre_polynomials() -> None:
    """Bonnet's recursion against NumPy's own, of any shape."""
    x = RNG.uniform(-1.2, 1.2, (3, 5))
    for degree in range(6):
        assert np.array_equal(legendre(x, degree), np.polynomial.legendre.legvander(x, degree))


def test_weighted_median_is_that_of_each_value_so_often() -> None:
    rng = np.random.default_rng(6)
    values, times = rng.normal(size=41), rng.integers(1, 6, 41)
    often = np.sort(np.repeat(values, times))
    assert weighted_median(values, times.astype(float)) == often[(len(often) - 1) // 2]
    assert weighted_median(values, np.zeros(41)) == values.min()
