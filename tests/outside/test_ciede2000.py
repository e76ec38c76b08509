"""Colour differences against the 34 published pairs."""

import numpy as np

from aligncheck.geometry.colour_difference import ciede2000
from tests.outside.data import published


def test_the_published_pairs() -> None:
    """To their last printed digit, both ways round."""
    pairs = np.array(published("ciede2000")["pairs"])
    assert len(pairs) == 34
    one, other, wanted = pairs[:, :3], pairs[:, 3:6], pairs[:, 6]
    np.testing.assert_allclose(ciede2000(one, other), wanted, atol=1e-4)
    np.testing.assert_allclose(ciede2000(other, one), wanted, atol=1e-4)
