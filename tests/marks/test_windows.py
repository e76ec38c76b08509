"""Where in a row the chalk lies, and which rows count."""

import numpy as np
import pytest

from aligncheck.marks.crossings import near_lines
from aligncheck.marks.marks import Line
from aligncheck.marks.windows import Windows


def rows(windows, width_mm, shifts, height=80.0, slope=0.0, extra=0.0):
    """Box strokes of `width_mm` shifted by `shifts` (n,) on a slanting ground; `extra` of one 1.2 mm beside."""
    o = windows.offsets_mm
    step = o[1] - o[0]

    def box(centre):
        return np.clip((width_mm / 2 - np.abs(o - centre)) / step + 0.5, 0, 1)

    return np.array([40 + slope * o + height * np.maximum(box(s), extra * box(s + 1.2)) for s in shifts], np.float32)


@pytest.mark.parametrize("width_mm", [0.5, 1.0, 2.0])
def test_offset_of_a_shifted_stroke(width_mm):
    """Small shifts are read to a hundredth of a millimetre, on any slanting ground."""
    windows = Windows.of_width(width_mm)
    shifts = np.linspace(-0.15, 0.15, 7)
    read = windows.measure(rows(windows, width_mm, shifts, slope=6.0))
    np.testing.assert_allclose(read.offset_mm, shifts, atol=0.012)
    np.testing.assert_allclose(read.amplitude, 1.0, atol=0.08)


def test_faint_rows_and_rows_beside_a_wiped_stroke_count_less():
    """Half the chalk counts far less than half; so does a row widened by something beside it."""
    windows = Windows.of_width(1.0)
    full = rows(windows, 1.0, np.linspace(-0.02, 0.02, 40))
    faint = rows(windows, 1.0, [0.0], height=40.0)
    beside = rows(windows, 1.0, [0.0], extra=0.5)
    weight = windows.measure(np.concatenate([full, faint, beside]), unit=80.0).weight
    assert weight[-2] < 0.3 * weight[:40].mean()
    assert weight[-1] < 0.3 * weight[:40].mean()


def test_crossed_rows_do_not_leak_into_their_neighbours():
    """Averaging leaves out the rows that are not free."""
    windows = Windows.of_width(1.0)
    values = rows(windows, 1.0, np.zeros(21))
    values[10] = rows(windows, 1.0, [0.6])[0]
    free = np.arange(21) != 10
    assert np.abs(windows.measure(values, 5).offset_mm[9]) > 0.05
    np.testing.assert_allclose(windows.measure(values, 5, free=free).offset_mm[free], 0, atol=1e-3)


def test_near_lines_sees_strokes_not_their_extensions():
    """Points beside a stroke are near it; points off its end by more than a little are not."""
    line = Line(np.array([0.0, -10.0]), np.array([0.0, -50.0]), np.eye(2))
    points = np.array([[0.5, -30.0], [0.5, -11.0], [0.5, 5.0], [2.0, -30.0], [0.2, -60.0]])
    assert near_lines(points, [line], 1.0).tolist() == [True, True, False, False, False]
