"""Drift by its definitions, and its intervals against scatter and closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import Drift, measure_drift
from aligncheck.drift.sources import Sources
from aligncheck.drift.verdict import verdict
from aligncheck.geometry.angles import clockwise, outward, wrap
from aligncheck.geometry.uncertainty import NORMAL_95
from aligncheck.layout import Layout
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Line, Marks, Ring, Spoke
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.square import out_of_square

WIDTH, HEIGHT = 304.8, 254.0
OWN_SD = 0.03


def make_panel(corner_sd_mm: float = 0.1, bend_sd: float = 0.0) -> Panel:
    """A panel seen askew by a lens that bends a little; its four corners known to `corner_sd_mm`."""
    corners = np.array([[812.0, 640.0], [3205.0, 505.0], [3390.0, 2460.0], [655.0, 2515.0]])
    covariance = np.diag([corner_sd_mm**2] * 8 + [bend_sd**2] * 2)
    return Panel.from_corners(WIDTH, HEIGHT, Lens(3000.0, 2015.5, 1511.5, 0.01, -0.02, "panel"), corners, covariance)


def squarely_cut(panel: Panel) -> Panel:
    """The panel, surely as square as it was meant."""
    return replace(panel, kinds=(Kind(1.0, 0.0, np.zeros(10), panel.covariance),))


def spoke(angle: float, move_mm: float, inner: float = 12.0, outer: float = 110.0, turn: float = 0.0) -> Spoke:
    """A spoke whose outer end lies `move_mm` short of its ideal (clockwise positive), turned about that end."""
    end = outer * outward(angle) - move_mm * clockwise(angle)
    start = end - (outer - inner) * outward(angle + turn)
    return Spoke(start, end, OWN_SD**2 * np.array([[1, 0.2], [0.2, 1]]), along_sd_mm=(0.3, 0.3))


def make_marks(panel: Panel, moves: np.ndarray, rotation: float = 7.0, centre: tuple = (1.5, -2.0)) -> Marks:
    n = len(moves)
    middle = np.array(centre)
    spokes = [spoke(rotation + 360 * k / n, m, turn=0.2 * (k % 3 - 1)) for k, m in enumerate(moves)]
    spokes = [
        replace(s, inner_mm=s.inner_mm + middle, outer_mm=s.outer_mm + middle, place=k) for k, s in enumerate(spokes)
    ]
    rings = [
        Ring(middle + off, radius, np.diag([0.01, 0.02, 0.02]) ** 2, roundness_mm=0.3)
        for radius, off in ((12.9, (0.1, 0)), (25.1, (0, 0.2)), (38.3, (-0.2, 0.1)), (50.9, (0, 0)))
    ]
    return Marks(
        panel=panel,
        centre=Centre(middle, 0.02**2 * np.eye(2), "mark"),
        spokes_meet=Centre(middle + 0.1, 0.05**2 * np.eye(2), "spokes"),
        segments=n,
        spokes=tuple(sorted(spokes, key=lambda s: s.angle_deg)),
        rings=tuple(rings),
    )


MOVES = np.array([0.3, -0.2, 0.05, 1.8, -0.1, 0.4, -1.5, 0.0, 0.15, -0.35, 0.22, -0.05])


def test_definitions_on_known_drawing() -> None:
    """Moves come back as drawn, less what the median turns all of them."""
    drift = measure_drift(make_marks(make_panel(), MOVES))
    bearings = -np.degrees(np.arctan2(MOVES, 110.0))
    rotation = 7.0 + np.median(bearings)
    assert drift.rotation_deg == pytest.approx(rotation, abs=1e-9)
    radius = np.hypot(110.0, MOVES)
    expected = -radius * np.sin(np.radians(7.0 + bearings - rotation))
    assert [s.move_mm for s in drift.spokes] == pytest.approx(expected, abs=1e-9)
    assert [s.ideal_deg for s in drift.spokes] == pytest.approx((rotation + 30 * np.arange(12)) % 360, abs=1e-9)
    turns = 0.2 * (np.arange(12) % 3 - 1)
    assert [s.drift_deg for s in drift.spokes] == pytest.approx(7.0 + turns - rotation, abs=1e-9)
    for s, move, turn in zip(drift.spokes, MOVES, turns, strict=True):
        # The line through the outer end at an angle `turn` passes the centre on the other side.
        miss = -move * np.cos(np.radians(turn)) - 110 * np.sin(np.radians(turn))
        assert s.miss_mm == pytest.approx(miss, abs=1e-9)


def test_rings_against_their_pitch() -> None:
    drift = measure_drift(make_marks(make_panel(), MOVES))
    r, k = np.array([12.9, 25.1, 38.3, 50.9]), np.arange(1, 5)
    pitch = (k @ r) / (k @ k)
    assert [x.number for x in drift.rings] == [1, 2, 3, 4]
    assert [x.drift_mm for x in drift.rings] == pytest.approx(r - k * pitch, abs=1e-9)
    assert [x.off_centre_mm for x in drift.rings] == pytest.approx([0.1, 0.2, np.hypot(0.2, 0.1), 0.0], abs=1e-9)
    assert drift.ring_pitch_mm == pytest.approx(pitch)
    # What the map does to all rings alike does not touch their drift: it is better known than the radius.
    assert all(x.drift_u95_mm < x.radius_u95_mm for x in drift.rings[1:])


def test_a_ring_that_is_not_seen_makes_the_others_less_sure() -> None:
    """Ring 1 lies under a piece: the pitch of all four is then known no better than the hand sets a ring."""
    marks = make_marks(make_panel(0.0), MOVES)
    all_seen, hidden = measure_drift(marks), measure_drift(replace(marks, rings=marks.rings[1:]))
    off = np.array([r.drift_mm for r in hidden.rings])
    share = np.sqrt((off**2).sum() / 2) / (1 + 4 + 9 + 16)
    for ring in hidden.rings:
        assert ring.drift_u95_mm > NORMAL_95 * ring.number * share
        assert ring.drift_u95_mm > all_seen.rings[ring.number - 1].drift_u95_mm


def test_no_move_is_exact() -> None:
    """The middle one of an odd number of spokes lies on its ideal by definition; its interval is not nought."""
    drift = measure_drift(make_marks(make_panel(), MOVES[:7] * 10))
    assert min(abs(s.move_mm) for s in drift.spokes) < 1e-9
    assert all(s.move_u95_mm > 0.001 for s in drift.spokes)


@pytest.mark.parametrize("turn", [0.0, 11.0, 29.9, 123.0, 348.3])
def test_turning_the_drawing_turns_only_the_angles(turn: float) -> None:
    plain = measure_drift(make_marks(make_panel(), MOVES))
    turned = measure_drift(make_marks(make_panel(), MOVES, 7.0 + turn))
    assert turned.rotation_deg == pytest.approx((plain.rotation_deg + turn) % 30, abs=1e-9)
    by_ideal = sorted(turned.spokes, key=lambda s: (s.ideal_deg - plain.rotation_deg - turn + 1) % 360)
    assert [s.move_mm for s in by_ideal] == pytest.approx([s.move_mm for s in plain.spokes], abs=1e-9)
    assert 0 <= turned.rotation_deg < 30


def test_layout_overrides_the_marks() -> None:
    marks = make_marks(make_panel(), np.zeros(12), rotation=2.0, centre=(1.0, 0.0))
    fixed = measure_drift(marks, Layout(rotation_deg=0.0, tolerance_mm=5.0))
    assert fixed.rotation_deg == 0
    assert fixed.rotation_u95_deg == 0
    expected = -110 * np.sin(np.radians(2.0))
    assert [s.move_mm for s in fixed.spokes] == pytest.approx([expected] * 12)
    assert {s.verdict for s in fixed.spokes} == {"within"}
    about_panel = measure_drift(marks, Layout(centre="panel"))
    assert about_panel.centre_mm == (0.0, 0.0)
    assert about_panel.centre_off_panel_mm == pytest.approx(1.0)
    listed = measure_drift(marks, Layout(ring_radii_mm=(13.0, 26.0, 39.0, 52.0)))
    assert [r.drift_mm for r in listed.rings] == pytest.approx([-0.1, -0.9, -0.7, -1.1])
    assert listed.ring_pitch_mm is None
    pitch = measure_drift(marks, Layout(ring_pitch_mm=12.7))
    assert [r.drift_mm for r in pitch.rings] == pytest.approx([0.2, -0.3, 0.2, 0.1])


def test_missing_spokes_leave_places_empty() -> None:
    marks = make_marks(make_panel(), np.zeros(12))
    some = replace(marks, spokes=tuple(s for k, s in enumerate(marks.spokes) if k not in (2, 3, 9)))
    drift = measure_drift(some)
    assert len(drift.spokes) == 9
    assert np.abs([s.drift_deg for s in drift.spokes]).max() < 0.3


def test_nothing_but_a_centre() -> None:
    marks = replace(make_marks(make_panel(), np.zeros(3)), spokes=(), rings=(), spokes_meet=None)
    drift = measure_drift(marks)
    assert (drift.spokes, drift.rings, drift.rotation_deg, drift.ring_pitch_mm) == ((), (), None, None)


@pytest.mark.parametrize(
    ("value", "u95", "expected"),
    [
        (1.5, 0.4, "out"),
        (-1.5, 0.4, "out"),
        (0.5, 0.4, "within"),
        (0.5, 0.5, "within"),
        (1.2, 0.4, "unsure"),
        (0.8, 0.3, "unsure"),
    ],
)
def test_verdicts(value: float, u95: float, expected: str) -> None:
    assert verdict(value, u95, 1.0) == expected


def perturbed(marks: Marks, rng: np.random.Generator, square: np.ndarray) -> Marks:
    """The same drawing measured once more: another map, other offsets of every stroke."""
    panel = marks.panel
    p = rng.multivariate_normal(np.zeros(10), panel.covariance)
    p[:8] += rng.multivariate_normal(np.zeros(8), square, method="eigh")
    corners = nominal_corners(WIDTH, HEIGHT) + p[:8].reshape(4, 2)
    lens = replace(panel.lens, k1=panel.lens.k1 + p[8], k2=panel.lens.k2 + p[9])
    other = Panel.from_corners(WIDTH, HEIGHT, lens, panel.corners_px, panel.covariance, corners_mm=corners)

    def moved(points: np.ndarray) -> np.ndarray:
        return other.to_panel(panel.to_photo(points))

    def stroke(s: Spoke) -> Spoke:
        off = rng.multivariate_normal([0, 0], s.across_covariance)
        along = rng.normal(0, s.along_sd_mm)
        out = outward(s.angle_deg)
        return replace(
            s,
            inner_mm=moved(s.inner_mm) + off[0] * s.across + along[0] * out,
            outer_mm=moved(s.outer_mm) + off[1] * s.across + along[1] * out,
        )

    def ring(r: Ring) -> Ring:
        out = outward(np.arange(0, 360, 2))
        points = moved(r.centre_mm + r.radius_mm * out)
        fit = np.linalg.lstsq(np.column_stack([2 * points, np.ones(len(points))]), (points**2).sum(1), rcond=None)[0]
        own = rng.multivariate_normal(np.zeros(3), r.covariance)
        return replace(r, centre_mm=fit[:2] + own[1:], radius_mm=float(np.sqrt(fit[2] + fit[:2] @ fit[:2])) + own[0])

    def point(c: Centre) -> Centre:
        return replace(c, xy_mm=moved(c.xy_mm) + rng.multivariate_normal([0, 0], c.covariance))

    return replace(
        marks,
        panel=other,
        spokes=tuple(stroke(s) for s in marks.spokes),
        rings=tuple(ring(r) for r in marks.rings),
        centre=point(marks.centre),
        spokes_meet=point(marks.spokes_meet) if marks.spokes_meet else None,
    )


def figures(drift: Drift) -> dict[str, np.ndarray]:
    return {
        "angle": np.array([s.angle_deg for s in drift.spokes]),
        "drift": np.array([s.drift_deg for s in drift.spokes]),
        "miss": np.array([s.miss_mm for s in drift.spokes]),
        "move": np.array([s.move_mm for s in drift.spokes]),
        "radius": np.array([r.radius_mm for r in drift.rings]),
        "ring drift": np.array([r.drift_mm for r in drift.rings]),
        "rotation": np.array([drift.rotation_deg]),
    }


def claims(drift: Drift) -> dict[str, np.ndarray]:
    return {
        "angle": np.array([s.angle_u95_deg for s in drift.spokes]),
        "drift": np.array([s.drift_u95_deg for s in drift.spokes]),
        "miss": np.array([s.miss_u95_mm for s in drift.spokes]),
        "move": np.array([s.move_u95_mm for s in drift.spokes]),
        "radius": np.array([r.radius_u95_mm for r in drift.rings]),
        "ring drift": np.array([r.drift_u95_mm for r in drift.rings]),
        "rotation": np.array([drift.rotation_u95_deg]),
    }


@pytest.mark.parametrize(("corner_sd", "bend_sd"), [(0.0, 0.0), (0.1, 0.003)])
def test_intervals_match_the_scatter_of_repeated_measurements(corner_sd: float, bend_sd: float) -> None:
    """Every figure's interval holds 95 % of what 120 repeated measurements give, a mixture of panels as assumed."""
    marks = make_marks(make_panel(corner_sd, bend_sd), MOVES)
    claimed, middle = claims(measure_drift(marks)), figures(measure_drift(marks))
    rng = np.random.default_rng(20)
    usual = marks.panel.possible_kinds
    squares = [out_of_square(WIDTH, HEIGHT, kind.out_of_square_mm) for kind in usual]
    kinds = rng.choice(len(squares), size=120, p=[kind.share for kind in usual])
    runs = [figures(measure_drift(perturbed(marks, rng, squares[kind]))) for kind in kinds]
    for name, u95 in claimed.items():
        off = np.array([wrap(run[name] - middle[name]) for run in runs])
        held = (np.abs(off) <= u95 + 1e-12).mean()
        # 120 repeats of a few independent figures: two standard deviations of the share are about 3 %.
        assert 0.91 <= held <= 0.985, f"{name}: {held:.3f}"


def test_radius_of_a_common_scale_error_is_the_closed_form() -> None:
    """All corners known together but for one factor: every radius is as unsure as its share of the half diagonal."""
    corners = nominal_corners(WIDTH, HEIGHT).ravel()
    common = np.zeros((10, 10))
    common[:8, :8] = 0.001**2 * np.outer(corners, corners)
    panel = squarely_cut(replace(make_panel(), covariance=common))
    marks = make_marks(panel, MOVES)
    marks = replace(marks, rings=tuple(replace(r, covariance=np.zeros((3, 3))) for r in marks.rings))
    from aligncheck.drift.places import place_marks

    placed = place_marks(marks)
    for circle in placed.rings:
        plain = placed.sources.variances(circle.radius.gradient)[0]
        assert np.sqrt(plain) == pytest.approx(0.001 * circle.radius.value, rel=2e-3)


def test_direction_of_one_stroke_is_the_closed_form() -> None:
    """With a sure map, var(angle) = (s1^2 + s2^2 - 2 c) / length^2."""
    marks = make_marks(squarely_cut(make_panel(0.0)), MOVES)
    from aligncheck.drift.places import place_marks
    from aligncheck.drift.turn import direction_of

    placed = place_marks(marks)
    sd = np.sqrt(placed.sources.variances(direction_of(placed.spokes[0]).gradient)[0])
    assert sd == pytest.approx(np.degrees(OWN_SD * np.sqrt(2 - 0.4) / 98.0), rel=1e-6)


def test_mixture_of_panels_gives_the_mixtures_quantile() -> None:
    """95 % of 0.9 N(0, 1) + 0.1 N(0, 3) lies within 2.63, by numerical integration of the two."""
    sources = Sources((np.eye(1), 9 * np.eye(1)), (0.9, 0.1))
    u95 = sources.u95_of_variance(np.array([1.0, 9.0]))
    draws = np.random.default_rng(1).normal(size=2_000_000) * np.where(np.arange(2_000_000) % 10 == 0, 3.0, 1.0)
    assert u95 == pytest.approx(np.quantile(np.abs(draws), 0.95), rel=5e-3)
    one = Sources((np.eye(1),), (1.0,))
    assert one.u95_of_variance(np.array([4.0])) == pytest.approx(2 * NORMAL_95)


def test_discs_hold_points_of_both_kinds() -> None:
    from aligncheck.drift.sources import Place

    sources = Sources((np.diag([1.0, 0.25]), np.diag([4.0, 1.0])), (0.9, 0.1))
    radius = sources.u95_point(Place(np.zeros(2), np.eye(2)))
    rng = np.random.default_rng(3)
    points = rng.normal(size=(200_000, 2)) * (1.0, 0.5) * np.where(rng.random(200_000) < 0.1, 2.0, 1.0)[:, None]
    assert (np.hypot(*points.T) <= radius).mean() == pytest.approx(0.95, abs=0.01)


def test_out_of_square_panels_keep_their_crossing() -> None:
    """Draws of corners: the diagonals of each still cross at the origin."""
    draws = np.random.default_rng(8).multivariate_normal(
        np.zeros(8), out_of_square(WIDTH, HEIGHT, 0.2), 300, method="eigh"
    )
    for draw in draws:
        a, b, c, d = nominal_corners(WIDTH, HEIGHT) + draw.reshape(4, 2)
        t = np.linalg.solve(np.column_stack([c - a, b - d]), b - a)
        assert np.hypot(*(a + t[0] * (c - a))) < 0.03
    assert np.std(draws[:, 0]) > 0.1


def test_a_centre_in_the_middle_is_as_sure_on_any_panel() -> None:
    """The frame turns about where the diagonals cross: a panel out of square moves what lies far out, not that."""
    marks = make_marks(make_panel(0.0), MOVES, centre=(0.0, 0.0))
    askew = measure_drift(marks)
    square = measure_drift(replace(marks, panel=squarely_cut(marks.panel)))
    assert askew.centre_u95_mm == pytest.approx(square.centre_u95_mm, rel=0.05)
    assert askew.rings[-1].radius_u95_mm > 1.2 * square.rings[-1].radius_u95_mm


def test_strokes_that_differ_are_listed() -> None:
    marks = make_marks(make_panel(), MOVES)
    first = marks.spokes[0]
    halfway = (first.inner_mm + first.outer_mm) / 2
    pieces = (Line(first.inner_mm, halfway, 1e-4 * np.eye(2)), Line(halfway, first.outer_mm, 1e-4 * np.eye(2)))
    drift = measure_drift(replace(marks, spokes=(replace(first, strokes=pieces), *marks.spokes[1:])))
    assert [len(s.strokes) for s in drift.spokes].count(2) == 1
    figures = drift.spokes[0].strokes
    assert figures[1].outer_mm == pytest.approx(tuple(first.outer_mm))
    assert figures[0].angle_u95_deg > 0
