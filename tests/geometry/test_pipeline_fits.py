"""The pipeline's own fits, on clean data, are those that are held against published figures in tests/outside."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import measure_drift
from aligncheck.geometry.circles import fit_circle
from aligncheck.geometry.directions import mean_direction
from aligncheck.geometry.least_squares import fit_linear
from aligncheck.geometry.lines import fit_line
from aligncheck.geometry.propagation import propagate
from aligncheck.geometry.uncertainty import NORMAL_95
from aligncheck.layout import Layout
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks, Ring, Spoke, bows
from aligncheck.marks import ring_fit as rings
from aligncheck.marks.windows import Rows
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind


def test_ring_fit_is_the_least_squares_circle() -> None:
    """Rows read across a ring that lies a little aside, with scatter: the same circle as through its points."""
    rng = np.random.default_rng(5)
    path = rings.start(np.array([1.0, -2.0]), 40.0, 0.8, 60)
    points, outward = path.points()
    true = np.array([1.15, -2.1])
    off = np.hypot(*(points - true).T)
    drawn = points + ((40.2 - off) + rng.normal(0, 0.03, len(points)))[:, None] * outward
    rows = Rows(((drawn - points) * outward).sum(1), np.ones(len(points)), np.ones(len(points)), 1.0)
    # Rows at the rim of the scatter count less in the pipeline (Tukey's biweight keeps 95 % of the information): the
    # two differ by some tenths of their standard deviation.
    fitted = rings.fit(path, rows, np.ones(len(points), bool), np.full(rings.WAVES, 1e-4))
    exact = fit_circle(drawn)
    sd = np.sqrt(np.diag(exact.covariance))
    assert fitted.radius_mm == pytest.approx(exact.radius, abs=0.7 * sd[0])
    assert fitted.centre_mm + fitted.terms[1:3] == pytest.approx(exact.centre, abs=0.7 * sd[1])


def test_stroke_fit_is_the_least_squares_line() -> None:
    """Without bows, the line of the pipeline's stroke model is the orthogonal line, with its covariance."""
    rng = np.random.default_rng(6)
    along = np.linspace(10, 90, 161)
    across = 0.4 + 0.003 * along + rng.normal(0, 0.05, along.size)
    basis = bows.legendre(along[None], np.array([10.0]), np.array([90.0]))[:, :, :2]
    found, covariance = bows.solve(
        basis, across[None], np.ones((1, along.size)), np.array([0.05**2]), np.full((1, 2), 1e6)
    )
    line = fit_line(np.column_stack([along, across]))
    assert found[0, 0] == pytest.approx(line.intercept + 50 * line.slope, abs=1e-5)
    assert found[0, 1] / 40 == pytest.approx(line.slope, abs=1e-6)
    scale = (line.residual_sd / 0.05) ** 2
    assert covariance[0, 0, 0] * scale == pytest.approx(line.offset_variance(0.0), rel=1e-3)
    assert covariance[0, 1, 1] / 40**2 * scale == pytest.approx(line.covariance[1, 1], rel=1e-3)


def exact_panel() -> Panel:
    """A panel whose map is known exactly."""
    corners = [(500.0, 300.0), (2500.0, 380.0), (2450.0, 2300.0), (450.0, 2250.0)]
    return Panel.from_corners(300.0, 300.0, Lens(2900.0, 1500.0, 1250.0), corners)


def test_move_and_miss_carry_the_covariance_of_the_ends() -> None:
    """Drift's uncertainty of a move and a miss is the general propagation of GUM over the same numbers."""
    inner, outer, centre = np.array([2.0, -9.0]), np.array([21.0, -98.0]), np.array([0.3, -0.4])
    across = np.array([[4e-4, 1e-4], [1e-4, 9e-4]])
    spoke = Spoke(inner, outer, across, 1.0, (0.05, 0.08))
    middle = np.array([[2.5e-4, 1e-5], [1e-5, 4e-4]])
    # A panel that is surely cut square, so that only the numbers above are uncertain.
    panel = exact_panel()
    panel = replace(panel, kinds=(Kind(1.0, 0.0, np.zeros(10), panel.covariance),))
    marks = Marks(panel, Centre(centre, middle, "mark"), None, 12, (spoke,), ())
    drift = measure_drift(marks, Layout(segments=12, rotation_deg=12.0)).spokes[0]
    ideal = np.radians(drift.ideal_deg)

    def figures(p: np.ndarray) -> np.ndarray:
        # p: offsets across at both ends, then along at both, then the centre.
        i = inner + p[0] * spoke.across + p[2] * (outer - inner) / spoke.length_mm
        o = outer + p[1] * spoke.across + p[3] * (outer - inner) / spoke.length_mm
        c, d = p[4:6], o - i
        b = np.arctan2(d[0], -d[1])
        move = -(o - c) @ (np.cos(ideal), np.sin(ideal))
        return np.array([move, (i - c) @ (np.cos(b), np.sin(b)), np.degrees(b)])

    covariance = np.zeros((6, 6))
    covariance[:2, :2], covariance[4:, 4:] = across, middle
    covariance[2, 2], covariance[3, 3] = 0.05**2, 0.08**2
    values, spread = propagate(figures, np.concatenate([np.zeros(4), centre]), covariance)
    u95 = NORMAL_95 * np.sqrt(np.diag(spread))
    assert (drift.move_mm, drift.miss_mm, drift.angle_deg) == pytest.approx(tuple(values), abs=1e-6)
    assert (drift.move_u95_mm, drift.miss_u95_mm, drift.angle_u95_deg) == pytest.approx(tuple(u95), rel=0.02)


def test_ring_pitch_is_the_least_squares_one() -> None:
    """The inferred pitch is the slope through zero of radius over number."""
    radii = [12.9, 25.2, 38.4, 51.1]
    around = tuple(Ring(np.zeros(2), r, 1e-4 * np.eye(3)) for r in radii)
    spoke = Spoke(np.array([0.0, -5.0]), np.array([0.0, -60.0]), 1e-4 * np.eye(2), 1.0)
    marks = Marks(exact_panel(), Centre(np.zeros(2), 1e-4 * np.eye(2), "mark"), None, 12, (spoke,), around)
    slope = fit_linear(np.arange(1.0, 5.0)[:, None], radii).values[0]
    assert measure_drift(marks).ring_pitch_mm == pytest.approx(slope, rel=1e-9)


def test_rotation_of_even_spokes_is_their_mean_direction() -> None:
    """For spokes off by the same either way, the median rotation is the mean of the folded bearings."""
    off = np.array([-0.4, -0.2, 0.0, 0.2, 0.4, 0.0])
    bearings = np.radians(5.0 + 60 * np.arange(6) + off)
    ends = 90 * np.stack([np.sin(bearings), -np.cos(bearings)], -1)
    spokes = tuple(Spoke(e * 0.1, e, 1e-4 * np.eye(2), 1.0, place=k) for k, e in enumerate(ends))
    marks = Marks(exact_panel(), Centre(np.zeros(2), 1e-4 * np.eye(2), "mark"), None, 6, spokes, ())
    folded, _ = mean_direction(np.degrees(bearings) * 6)
    assert measure_drift(marks).rotation_deg == pytest.approx(folded / 6, abs=1e-9)
