"""Lines, circles, directions and covariance against published figures. Tolerances: the digits that were printed."""

import numpy as np
import pytest

from aligncheck.geometry.circles import algebraic_circle, fit_circle
from aligncheck.geometry.directions import mean_direction
from aligncheck.geometry.least_squares import fit_linear
from aligncheck.geometry.lines import fit_line, fit_line_weighted
from aligncheck.geometry.propagation import propagate
from tests.outside.data import published


def test_circle_of_gander() -> None:
    """Six points of Gander, Golub & Strebel, whose algebraic circle is far off."""
    data = published("circle")
    fit = fit_circle(data["points"])
    assert fit.centre == pytest.approx(data["printed"]["centre"], abs=5e-5)
    assert fit.radius == pytest.approx(data["printed"]["radius"], abs=5e-5)
    assert [*fit.centre, fit.radius] == pytest.approx([*data["centre"], data["radius"]], abs=1e-7)
    assert float(fit.residuals @ fit.residuals) == pytest.approx(data["sum_of_squares"], abs=1e-7)
    centre, radius = algebraic_circle(data["points"])
    assert [*centre, radius] == pytest.approx([*data["kasa"]["centre"], data["kasa"]["radius"]], abs=1e-7)


def test_circle_covariance() -> None:
    """Standard deviations of the same fit, from its Jacobian."""
    data = published("circle")
    expected = data["calculated_sd"]
    fit = fit_circle(data["points"])
    sd = np.sqrt(np.diag(fit.covariance))
    assert sd == pytest.approx([expected["radius"], *expected["centre"]], rel=0.01)
    assert fit.covariance[2, 0] / sd[2] / sd[0] == pytest.approx(expected["correlation_y_radius"], rel=0.01)


def test_circle_through_a_line_is_refused() -> None:
    """Points on a line have no circle, and too few have no spread."""
    with pytest.raises(ValueError, match="on a line"):
        fit_circle([(0, 0), (1, 1), (2, 2), (5, 5)])
    with pytest.raises(ValueError, match="four points"):
        fit_circle([(0, 0), (1, 0), (0, 1)])


def test_line_of_pearson() -> None:
    """The line of least squared distances through Pearson's ten points; his own intercept carries a rounded slope."""
    data = published("pearson_york")
    fit = fit_line(np.column_stack([data["x"], data["y"]]))
    exact = data["orthogonal"]
    assert fit.point == pytest.approx(exact["middle"], abs=1e-9)
    assert (fit.slope, fit.intercept) == pytest.approx((exact["slope"], exact["intercept"]), abs=1e-6)
    assert (fit.slope, fit.intercept) == pytest.approx((exact["printed_slope"], exact["printed_intercept"]), abs=2e-3)
    assert fit.residual_sd**2 * (len(data["x"]) - 2) == pytest.approx(exact["sum_of_squares"], abs=1e-6)


def test_line_of_york() -> None:
    """The same points with York's weights for both axes."""
    data = published("pearson_york")
    fit = fit_line_weighted(data["x"], data["y"], data["weight_x"], data["weight_y"])
    exact = data["weighted"]
    assert (fit.intercept, fit.slope) == pytest.approx((exact["intercept"], exact["slope"]), abs=1e-8)
    assert fit.chi2 / 8 == pytest.approx(exact["chi2_per_freedom"], abs=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([exact["sd_intercept"], exact["sd_slope"]], abs=1e-6)


@pytest.mark.parametrize(("name", "power", "digits"), [("norris", 1, 1e-9), ("pontius", 2, 1e-8)])
def test_least_squares_of_nist(name: str, power: int, digits: float) -> None:
    """NIST's certified values; Pontius needs its columns scaled."""
    data = published("nist_strd")[name]
    x = np.asarray(data["x"])
    fit = fit_linear(np.column_stack([x**k for k in range(power + 1)]), data["y"])
    assert fit.values == pytest.approx(data["values"], rel=digits)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(data["sd"], rel=digits)
    assert fit.residual_sd == pytest.approx(data["residual_sd"], rel=digits)


def test_mean_direction_of_mardia() -> None:
    """Example 1.1 of Mardia & Jupp (a roulette wheel), and the set of Jammalamadaka & SenGupta."""
    data = published("directions")
    mean, length = mean_direction(data["roulette"]["deg"])
    assert mean == pytest.approx(data["roulette"]["mean_deg"], abs=0.1)
    assert length == pytest.approx(data["roulette"]["resultant"], abs=5e-4)
    mean, length = mean_direction(data["vanishing"]["deg"])
    assert np.radians(mean) == pytest.approx(data["vanishing"]["mean_rad"], abs=1e-6)
    assert 1 - length == pytest.approx(data["vanishing"]["variance"], abs=1e-6)


def test_mean_direction_of_opposites_is_unknown() -> None:
    """Two opposite directions have no mean: not zero, but unknown."""
    mean, length = mean_direction([10, 190])
    assert np.isnan(mean)
    assert length < 1e-12


def test_calibration_line_of_gum_h3() -> None:
    """GUM H.3: a thermometer's correction line, its covariance, and what it predicts at 30 degrees."""
    data = published("gum")["h3"]
    t = np.asarray(data["temperature"]) - data["reference_temperature"]
    fit = fit_linear(np.column_stack([np.ones_like(t), t]), data["correction"])
    sd, exact = np.sqrt(np.diag(fit.covariance)), data["calculated"]
    printed = data["printed"]
    assert fit.values == pytest.approx([printed["y1"], printed["y2"]], abs=5e-5)
    assert sd == pytest.approx([printed["u_y1"], printed["u_y2"]], abs=5e-5)
    assert [*fit.values, *sd] == pytest.approx([exact["y1"], exact["y2"], exact["u_y1"], exact["u_y2"]], abs=1e-6)
    assert fit.covariance[0, 1] / sd[0] / sd[1] == pytest.approx(printed["r"], abs=5e-4)
    value, covariance = propagate(lambda y: y[0] + 10 * y[1], fit.values, fit.covariance)
    assert value[0] == pytest.approx(printed["b30"], abs=5e-5)
    assert np.sqrt(covariance[0, 0]) == pytest.approx(exact["u_b30"], abs=1e-6)


def test_impedance_of_gum_h2() -> None:
    """GUM H.2: resistance, reactance and impedance from correlated readings of voltage, current and phase."""
    data = published("gum")["h2"]
    readings = np.array([data["volt"], np.asarray(data["milliampere"]) * 1e-3, data["phase"]])
    means, covariance = readings.mean(1), np.cov(readings) / readings.shape[1]
    values, spread = propagate(
        lambda r: np.array([r[0] / r[1] * np.cos(r[2]), r[0] / r[1] * np.sin(r[2]), r[0] / r[1]]), means, covariance
    )
    sd = np.sqrt(np.diag(spread))
    for k, name in enumerate("RXZ"):
        value, u = data["calculated"][name]
        assert values[k] == pytest.approx(value, abs=1e-5)
        assert sd[k] == pytest.approx(u, abs=1e-5)
        # GUM prints 0.295 for u(X) where its readings give 0.2956.
        assert (values[k], sd[k]) == pytest.approx(tuple(data["printed"][name]), abs=1e-3)
    for (i, j), name in (((0, 1), "r_RX"), ((0, 2), "r_RZ"), ((1, 2), "r_XZ")):
        assert spread[i, j] / sd[i] / sd[j] == pytest.approx(data["printed"][name], abs=1e-3)
