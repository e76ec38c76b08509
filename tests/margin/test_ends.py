"""Where spokes end, on flat views whose chalk is known."""

import numpy as np
import pytest

from aligncheck.margin.ends import spoke_ends
from aligncheck.margin.view import MarginView
from aligncheck.marks import Line, Spoke

PX_PER_MM, SIZE_MM = 6.0, 200.0
END_MM, SEEN_MM = 60.0, 59.0


def _view(chalk: dict[int, list[tuple[float, float, float]]], seed: int = 3) -> MarginView:
    """Strokes 0.9 mm wide from the middle: by bearing the (from, to, strength) of the chalk, on a grainy ground."""
    size = round(SIZE_MM * PX_PER_MM)
    middle = (size - 1) / 2
    y, x = (np.mgrid[:size, :size] - middle) / PX_PER_MM
    light = np.random.default_rng(seed).normal(0, 0.01, (size, size))
    for angle, strokes in chalk.items():
        a = np.deg2rad(angle)
        along, across = x * np.sin(a) - y * np.cos(a), x * np.cos(a) + y * np.sin(a)
        for start, stop, strength in strokes:
            light += 0.5 * strength * ((along > start) & (along < stop) & (np.abs(across) < 0.45))
    away = np.stack([light, 0.1 * light, np.zeros_like(light)], axis=-1).astype(np.float32)
    return MarginView(away, np.abs(light).astype(np.float32) / 0.01, PX_PER_MM, (middle, middle))


def _spoke(angle_deg: float, outer_mm: float = SEEN_MM) -> Spoke:
    ahead = np.array([np.sin(np.deg2rad(angle_deg)), -np.cos(np.deg2rad(angle_deg))])
    return Spoke(10 * ahead, outer_mm * ahead, np.eye(2) * 0.01, 0.9, (0.3, 0.4))


def _reaches(view: MarginView, spokes: tuple[Spoke, ...], diagonals: tuple[Line, ...] = ()) -> list[float]:
    return [float(np.hypot(*end.point_mm)) for end in spoke_ends(view, spokes, diagonals)]


ANGLES = (10, 70, 130, 190, 250, 310)


def test_end_of_plain_strokes() -> None:
    view = _view({a: [(10, END_MM, 1.0)] for a in ANGLES})
    assert _reaches(view, tuple(_spoke(a) for a in ANGLES)) == pytest.approx([END_MM] * 6, abs=0.35)


def test_a_line_across_what_lies_beyond_is_no_bare_panel() -> None:
    """A frame of lines takes more than a thirtieth of the rows beyond the ends; thin chalk stays chalk."""
    strokes = [(10.0, 40.0, 1.0), (40.0, END_MM, 0.5), (70.0, 71.2, 1.0)]
    found = _reaches(_view(dict.fromkeys(ANGLES, strokes)), tuple(_spoke(a) for a in ANGLES))
    assert found == pytest.approx([END_MM] * 6, abs=0.6)


def test_a_spoke_on_a_diagonal_ends_where_the_marks_have_it() -> None:
    angles = (45, *ANGLES)
    view = _view({45: [(10, 95, 1.0)], **{a: [(10, END_MM, 1.0)] for a in ANGLES}})
    corner = 95 * np.array([1, -1]) / np.sqrt(2)
    diagonal = Line(-corner, corner, np.eye(2) * 0.01, 0.9)
    assert _reaches(view, tuple(_spoke(a) for a in angles), (diagonal,))[0] == pytest.approx(SEEN_MM)


def test_chalk_that_faded_claims_more() -> None:
    """Where the hand was lifted gently the stroke goes on below what is seen."""
    faded = [(10.0, 53.0, 1.0), *((53.0 + k, 53.8 + k, 0.6 - 0.1 * k) for k in range(5))]
    view = _view({a: faded if a == ANGLES[0] else [(10, END_MM, 1.0)] for a in ANGLES})
    ends = spoke_ends(view, tuple(_spoke(a) for a in ANGLES))
    assert ends[0].sd_mm > 1.7 * ends[1].sd_mm


def test_doubt_where_marks_and_chalk_disagree() -> None:
    view = _view({a: [(10, END_MM, 1.0)] for a in ANGLES})
    ends = spoke_ends(view, (_spoke(ANGLES[0], END_MM - 8), *(_spoke(a) for a in ANGLES[1:])))
    assert ends[0].sd_mm > 3.0 > ends[1].sd_mm
