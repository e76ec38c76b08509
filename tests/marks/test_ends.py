import numpy as np

from aligncheck.marks.ends import bare_scatter, marked_threshold, rough_extent

ALONG = np.arange(1.0, 150.0)


def amplitudes(outer_mm: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    drawn = (ALONG > 10) & (ALONG[None, :] <= outer_mm[:, None])
    return drawn * rng.uniform(0.3, 1.0, size=drawn.shape) + rng.normal(scale=0.015, size=drawn.shape)


def extent_of(amplitude: np.ndarray):
    return rough_extent(ALONG, amplitude, np.ones(amplitude.shape, bool), marked_threshold(0.015), 5.0, 110.0)


def test_ends_are_found_to_a_row_though_the_stroke_has_gaps():
    rng = np.random.default_rng(1)
    outer = rng.normal(120, 2, size=8)
    amplitude = amplitudes(outer, rng)
    amplitude[2, (ALONG > 60) & (ALONG < 72)] = 0.0
    found = extent_of(amplitude)
    assert np.abs(found.outer_mm - outer).max() < 1.1
    assert np.abs(found.inner_mm - 10.5).max() < 1.1


def test_a_faint_tail_belongs_to_the_stroke():
    rng = np.random.default_rng(2)
    amplitude = amplitudes(np.full(8, 120.0), rng)
    amplitude[3, (ALONG > 100) & (ALONG <= 120)] = rng.uniform(0.03, 0.2, size=20)
    assert abs(extent_of(amplitude).outer_mm[3] - 120) < 2


def test_a_tick_beyond_the_end_does_not():
    rng = np.random.default_rng(3)
    amplitude = amplitudes(np.full(8, 120.0), rng)
    amplitude[0, (ALONG > 134) & (ALONG < 140)] = 0.8
    assert abs(extent_of(amplitude).outer_mm[0] - 120) < 2


def test_a_fainter_line_that_runs_on_does_not():
    """A printed line of the panel carries on in a spoke's direction for 2 cm, a sixth as strong as its chalk."""
    rng = np.random.default_rng(6)
    amplitude = amplitudes(np.full(8, 110.0), rng)
    on = (ALONG > 110) & (ALONG < 132)
    amplitude[4, on] = rng.uniform(0.08, 0.16, size=on.sum())
    assert abs(extent_of(amplitude).outer_mm[4] - 110) < 4


def test_bare_panel_has_no_evidence_of_a_stroke():
    rng = np.random.default_rng(4)
    amplitude = amplitudes(np.full(8, 120.0), rng)
    amplitude[5] = rng.normal(scale=0.015, size=len(ALONG))
    found = extent_of(amplitude)
    assert found.evidence[5] < 3 < found.evidence[0]


def test_scatter_is_that_of_bare_rows():
    rng = np.random.default_rng(5)
    amplitude = amplitudes(np.full(8, 120.0), rng)
    scatter = bare_scatter(ALONG, amplitude, np.ones(amplitude.shape, bool), extent_of(amplitude), 0.3)
    assert 0.012 < scatter < 0.018


def test_strokes_that_are_hidden_everywhere_end_where_the_layout_does():
    """No row shows any of them alone: they run from where rows begin to about the layout's reach."""
    extent = rough_extent(ALONG, np.ones((3, len(ALONG))), np.zeros((3, len(ALONG)), bool), 0.1, 5.0, 110.0)
    np.testing.assert_allclose(extent.inner_mm, 5.0, atol=1.0)
    np.testing.assert_allclose(extent.outer_mm, 110.0, atol=1.0)
