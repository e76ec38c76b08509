"""Groups by average linkage on cases worked out by hand."""

import numpy as np
import pytest

from aligncheck.geometry.linkage import average_linkage


@pytest.mark.parametrize(("most", "groups"), [(0.9, 4), (1.1, 3), (2.4, 3), (2.6, 2), (5.5, 2), (5.8, 1)])
def test_groups_join_at_the_mean_of_their_distances(most: float, groups: int) -> None:
    """Points at 0, 1, 3 and 7: the first two are one apart, 3 lies 2.5 from them on average, 7 lies 17/3."""
    places = np.array([0.0, 1.0, 3.0, 7.0])
    apart = np.abs(places[:, None] - places)
    found = average_linkage(apart, most)
    assert set(found.tolist()) == set(range(groups))
    assert (found[0] == found[1]) == (most > 1)


def test_equal_distances_end() -> None:
    square = 1.0 - np.eye(4)
    assert average_linkage(square, 1.0).tolist() == [0, 0, 0, 0]
    assert len(set(average_linkage(square, 0.5).tolist())) == 4
    assert average_linkage(np.zeros((1, 1)), 1.0).tolist() == [0]
