"""Near points and the best of what excludes one another, against plain loops."""

import numpy as np
import pytest

from aligncheck.geometry.near import Near, best_first


@pytest.mark.parametrize(("points", "places"), [(300, 200), (1, 7), (0, 5), (5, 0)])
def test_pairs_are_those_of_a_plain_search(points: int, places: int) -> None:
    rng = np.random.default_rng(points)
    p, q, within = rng.uniform(-30, 30, (points, 2)), rng.uniform(-45, 45, (places, 2)), rng.uniform(0.1, 4, places)
    place, point, distance = Near(p).pairs(q, within)
    apart = np.hypot(*np.moveaxis(q[:, None] - p, -1, 0))
    wanted = np.argwhere(apart < within[:, None])
    found = np.column_stack([place, point])
    assert found[np.lexsort(found.T[::-1])].tolist() == wanted.tolist()
    np.testing.assert_allclose(distance, apart[place, point])
    assert (np.diff(place) >= 0).all()


def test_many_pairs_come_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(4)
    p, q = rng.uniform(0, 20, (400, 2)), rng.uniform(0, 20, (300, 2))
    whole = Near(p).pairs(q, 3.0)
    monkeypatch.setattr("aligncheck.geometry.near.PLACES", 70)
    for one, other in zip(whole, Near(p).pairs(q, 3.0), strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("reach", [0.5, 3.0, 40.0])
def test_the_best_go_first_and_take_away_what_they_exclude(reach: float) -> None:
    rng = np.random.default_rng(8)
    points, worth = rng.uniform(-20, 20, (250, 2)), rng.uniform(size=250).round(2)
    one, other, _ = Near(points).pairs(points, reach)
    free, kept = np.ones(250, bool), np.zeros(250, bool)
    for i in np.argsort(-worth, kind="stable"):
        if free[i]:
            kept[i] = True
            free &= np.hypot(*(points - points[i]).T) >= reach
    np.testing.assert_array_equal(best_first(worth, one, other), kept)
