"""Average linkage and colour differences against SciPy's and scikit-image's."""

import numpy as np
import pytest
from scipy.cluster.hierarchy import fcluster, linkage
from scipy.spatial.distance import squareform
from skimage.color import deltaE_ciede2000

from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.geometry.linkage import average_linkage


@pytest.mark.parametrize(("count", "most"), [(2, 6.0), (200, 6.0), (500, 10.0), (60, 0.5), (60, 500.0)])
def test_groups_are_scipys(count: int, most: float) -> None:
    rng = np.random.default_rng(count)
    points = rng.normal(0, 6, (count, 3)) + 25 * rng.integers(0, 2, (count, 1))
    apart = np.linalg.norm(points[:, None] - points, axis=-1)
    ours, theirs = average_linkage(apart, most), fcluster(linkage(squareform(apart), "average"), most, "distance")
    np.testing.assert_array_equal(ours[:, None] == ours, theirs[:, None] == theirs)
    assert set(ours.tolist()) == set(range(int(ours.max()) + 1))


def test_equal_distances_end() -> None:
    square = 1.0 - np.eye(4)
    assert average_linkage(square, 1.0).tolist() == [0, 0, 0, 0]
    assert len(set(average_linkage(square, 0.5).tolist())) == 4
    assert average_linkage(np.zeros((1, 1)), 1.0).tolist() == [0]


def test_colour_differences_are_scikit_images() -> None:
    rng = np.random.default_rng(2)
    one, other = (rng.uniform([0, -100, -100], [100, 100, 100], (2000, 3)) for _ in range(2))
    one[:200, 1:] = 0
    np.testing.assert_allclose(ciede2000(one, other), deltaE_ciede2000(one, other), atol=1e-9)
    assert ciede2000(one[:5, None], other[None, :7]).shape == (5, 7)
