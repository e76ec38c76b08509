"""Round rings tell how far a panel is out of square, whatever is usual; it is said where it surely matters."""

import re
from dataclasses import replace

import numpy as np
import pytest

from aligncheck.advice.square import out_of_square
from aligncheck.marks import Ring
from aligncheck.marks.moved import around, circle_by
from aligncheck.marks.ovals import ovals_of
from aligncheck.marks.round_rings import settled_panel
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.squareness import Squareness, shape_slopes
from tests.marks.ovals import READ_MM, waves
from tests.together.hands import SIZE_MM, exact_panel

SIDES_MM = 0.05
ROUND = [Ring(np.zeros(2), 12.7 * k, 1e-4 * np.eye(3)) for k in range(1, 9)]
FIELDS = [exact_panel().field(around(ring)) for ring in ROUND]


def seen(cut_mm: np.ndarray, seed: int, *, hand_mm: float = 0.005, depth_mm: float | None = 3.0) -> Panel:
    """A panel with corners shifted by `cut_mm` (8,), as its sides and eight rings read by a `hand_mm` leave it."""
    rng = np.random.default_rng(seed)
    error = np.concatenate([cut_mm + rng.normal(0, SIDES_MM, 8), [0, 0]])
    sides = np.zeros((10, 10))
    sides[:8, :8] = SIDES_MM**2 * np.eye(8)
    panel = replace(exact_panel(), covariance=sides, depth_mm=depth_mm)
    rings = []
    for ring, field in zip(ROUND, FIELDS, strict=True):
        read = rng.normal(0, READ_MM, 2) + rng.normal(0, hand_mm, 2)
        oval = read - circle_by(field @ error)[3:]
        rings.append(replace(ring, waves=waves(oval, hand_mm)))
    return settled_panel(panel, tuple(rings))


def shape_of(corners_mm: np.ndarray) -> tuple[float, float]:
    """Difference of the diagonals, and width less the height's due, by what one would measure with a tape."""
    a, b, c, d = corners_mm
    far = [float(np.hypot(*(p - q))) for p, q in ((c, a), (d, b), (b, a), (c, d), (d, a), (c, b))]
    width, height = (far[2] + far[3]) / 2, (far[4] + far[5]) / 2
    return far[0] - far[1], width - height * SIZE_MM[0] / SIZE_MM[1]


def cut(seed: int, sd_mm: float) -> np.ndarray:
    """Corners that stray by so much, opposite ones by opposite vectors: the diagonals cross at the origin."""
    v = np.random.default_rng([seed, 9]).normal(0, sd_mm, 4)
    return np.concatenate([v, -v])


def test_slopes_are_what_a_tape_would_find() -> None:
    """Also for a panel that is no square; moved, turned or drawn larger, its shape is the same."""
    width, height = 300.0, 200.0
    exact = nominal_corners(width, height)
    for k in range(8):
        moved = exact.copy()
        moved[k // 2, k % 2] += 0.01
        a, b, c, d = moved
        diagonals = np.hypot(*(c - a)) - np.hypot(*(d - b))
        wide = np.hypot(*(b - a)) + np.hypot(*(c - d)) - 1.5 * (np.hypot(*(d - a)) + np.hypot(*(c - b)))
        assert shape_slopes(width, height)[:, k] == pytest.approx([diagonals / 0.01, wide / 0.02], abs=1e-3)
    for same in (exact, exact[:, ::-1] * (-1, 1), np.ones((4, 2))):
        assert shape_slopes(width, height) @ same.ravel() == pytest.approx([0, 0], abs=1e-9)


def test_the_intervals_hold_however_far_a_panel_is_askew() -> None:
    """Forty panels out by 0.05 to 1 mm a corner, thickness told or not: what the rings tell holds, and is close."""
    off, u95 = [], []
    for seed in range(40):
        shift = cut(seed, (0.05, 0.2, 0.5, 1.0)[seed % 4])
        shape = seen(shift, seed, depth_mm=(3.0, None, 38.0)[seed % 3]).squareness
        assert shape is not None
        real = shape_of(nominal_corners(*SIZE_MM) + shift.reshape(4, 2))
        off += [shape.diagonals_mm - real[0], shape.too_wide_mm - real[1]]
        u95 += [shape.diagonals_u95_mm, shape.too_wide_u95_mm]
    assert np.mean(np.abs(off) <= u95) >= 0.9
    assert np.median(u95) < 0.5


def codes(panel: Panel, tolerance_mm: float = 1.0) -> list[str]:
    return [note.code for note in out_of_square(panel, tolerance_mm)]


def test_who_measures_from_the_sides_is_warned() -> None:
    """One diagonal 1.6 mm longer: said, with the diagonal's name; and not where that is within the tolerance."""
    leaning = np.array([-0.8, -0.8, 0, 0, 0.8, 0.8, 0, 0]) / np.sqrt(2)
    (note,) = out_of_square(seen(leaning, 1), 1.0)
    assert note.code == "panel_not_square"
    assert re.search(r"from top left to bottom right it is 1\.[4-8] mm longer than across, ± 0\.", note.text)
    (other,) = out_of_square(seen(-leaning, 1), 1.0)
    assert re.search(r"from top right to bottom left it is 1\.[4-8] mm longer", other.text)
    assert codes(seen(leaning, 1), 2.0) == []
    (wide,) = out_of_square(seen(np.array([-0.7, 0, 0.7, 0, 0.7, 0, -0.7, 0]), 2), 1.0)
    assert wide.code == "panel_too_wide" and re.search(r"1\.[2-6] mm too wide for its height", wide.text)


def test_nothing_is_said_without_cause() -> None:
    """Square panels, rings drawn by an unsteady hand, no rings: not a word, however small the tolerance."""
    said = [codes(seen(cut(seed, 0.01), seed), 0.1) for seed in range(40)]
    assert sum(map(bool, said)) <= 2
    shift = np.array([-0.8, -0.8, 0, 0, 0.8, 0.8, 0, 0]) / np.sqrt(2)
    assert not any(codes(seen(shift, seed, hand_mm=0.3), 0.1) for seed in range(10))
    bare = settled_panel(exact_panel(), ())
    assert bare.squareness is None and codes(bare) == []


def test_what_the_settled_map_does_not_bear_out_is_not_said() -> None:
    """Rings alone may say 2.5 mm where all that is usual outweighs them: then it may as well be the hand."""
    panel = replace(exact_panel(), settled=True, squareness=Squareness(0.0, 0.3, 2.5, 1.4))
    assert codes(panel) == []
    moved = Panel.from_corners(
        *SIZE_MM, panel.lens, panel.corners_px, corners_mm=panel.corners_mm * (1 + 1.6 / SIZE_MM[0], 1)
    )
    assert codes(replace(moved, squareness=panel.squareness)) == ["panel_too_wide"]


def test_no_ring_no_ovals() -> None:
    assert ovals_of(exact_panel(), ()).read_mm.shape == (0,)
