"""Which variation of the panel the mixture of channels has to be kept clear of."""

import numpy as np
import pytest

from aligncheck.marks.mixture import _variation


def test_grain_that_runs_along_the_strokes_counts_more_than_grain_that_changes_from_row_to_row():
    rng = np.random.default_rng(1)
    spokes, rows = 12, 100
    quick = rng.normal(scale=4.0, size=(spokes, rows))
    slow = np.repeat(rng.normal(scale=3.0, size=(spokes, rows // 25)), 25, axis=1)
    uneven = np.stack([quick, slow, 0.1 * quick], axis=-1).reshape(-1, 3)
    found = _variation(uneven, np.ones((spokes, rows), bool), 1.0)
    assert found is not None
    # Rows a millimetre apart: a piece of 8 averages quick grain as that of chalk, grain of 1.45 mm, a little more.
    assert found[0, 0] == pytest.approx(16 / 1.45, rel=0.3)
    assert found[1, 1] > 3 * 9 * 0.8
    assert np.cov(uneven.T)[1, 1] < np.cov(uneven.T)[0, 0]


def test_too_few_rows_tell_no_variation():
    assert _variation(np.zeros((10, 3)), np.ones((1, 10), bool), 1.0) is None
