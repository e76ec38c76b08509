"""Sums over three channels by OpenCV are what NumPy's are, whatever the shape."""

import numpy as np
import pytest

from aligncheck.geometry.channels import lengths, summed


@pytest.mark.parametrize("shape", [(3,), (0, 3), (7, 3), (4, 5, 3), (2, 3, 4, 3)])
def test_sums_and_lengths(shape: tuple[int, ...]) -> None:
    """Single precision, of any shape, also of a part of an array."""
    values = np.random.default_rng(3).normal(size=shape).astype(np.float32)
    assert summed(values).shape == shape[:-1]
    assert np.allclose(summed(values), values.sum(-1), atol=1e-6)
    assert np.allclose(lengths(values), np.linalg.norm(values, axis=-1), atol=1e-6)
    assert np.allclose(lengths(values[..., ::-1]), lengths(values), atol=1e-6)
