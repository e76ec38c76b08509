"""Blots on chalk lines are no paint; dots beside the lines or far wider are."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from aligncheck.dots.dots import Dot, Dots
from aligncheck.dots.unexplained import is_paint, unexplained
from tests.truth import read_truth, true_marks

SAMPLE = Path(__file__).parents[2] / "samples" / "night-daisy-1-marked.jpg"


def dots_at(centres: np.ndarray, diameter_mm: float) -> Dots:
    made = tuple(Dot(c, 0.1, diameter_mm, 0.1, 0, k, False, np.zeros(3)) for k, c in enumerate(centres))
    return Dots(made, (), (), len(made), np.zeros(2))


def test_blots_on_lines_are_explained_and_dots_beside_them_are_not():
    """Dots a little wider than the line, centred on spokes, say nothing of paint; moved beside the spokes they do."""
    marks = true_marks(read_truth(SAMPLE))
    on = np.array([(s.inner_mm + s.outer_mm) / 2 for s in marks.spokes])
    width = float(np.median([s.width_mm for s in marks.spokes]))
    assert not is_paint(dots_at(on, 2 * width), marks)
    half_ring = (marks.rings[-1].radius_mm + marks.rings[-2].radius_mm) / 2
    middle = np.radians([s.angle_deg + 15 for s in marks.spokes])
    beside = marks.centre.xy_mm + half_ring * np.stack([np.sin(middle), -np.cos(middle)], axis=1)
    assert unexplained(dots_at(beside, 2 * width), marks).all()


def test_wide_dots_on_lines_are_paint():
    """A dot four lines wide is no blot, even right on a spoke."""
    marks = true_marks(read_truth(SAMPLE))
    on = np.array([(s.inner_mm + s.outer_mm) / 2 for s in marks.spokes])
    width = float(np.median([s.width_mm for s in marks.spokes]))
    assert is_paint(dots_at(on, 4 * width), marks)


def test_among_traced_petals_it_takes_several_rings():
    """One blot a segment, wide and off the lines, is a crossing of strokes; three clear of petals are paint."""
    marks = true_marks(read_truth(SAMPLE))
    half_ring = (marks.rings[-1].radius_mm + marks.rings[-2].radius_mm) / 2
    middle = np.radians([s.angle_deg + 15 for s in marks.spokes])
    ways = np.stack([np.sin(middle), -np.cos(middle)], axis=1)
    one, three = (np.concatenate([marks.centre.xy_mm + (half_ring - 8 * k) * ways for k in range(n)]) for n in (1, 3))
    assert is_paint(dots_at(one, 4.0), marks)
    order = len(ways)
    few, many = (replace(dots_at(at, 4.0), order=order) for at in (one, three))
    assert not is_paint(few, marks, np.ones(len(one), bool))
    assert is_paint(many, marks, np.ones(len(three), bool))
    assert not is_paint(many, marks, np.zeros(len(three), bool))


def test_few_clear_dots_among_very_many_on_strokes_are_no_paint():
    """Three rings clear of petals, but twelve more upon them: what is clear lies on strokes that nobody fitted."""
    marks = true_marks(read_truth(SAMPLE))
    middle = np.radians([s.angle_deg + 15 for s in marks.spokes])
    ways = np.stack([np.sin(middle), -np.cos(middle)], axis=1)
    places = np.concatenate([marks.centre.xy_mm + (100 - 4 * k) * ways for k in range(15)])
    dots = replace(dots_at(places, 4.0), order=len(ways))
    clear = np.arange(len(places)) < 3 * len(ways)
    assert not is_paint(dots, marks, clear)
    assert is_paint(replace(dots, dots=dots.dots[: 6 * len(ways)]), marks, clear[: 6 * len(ways)])
