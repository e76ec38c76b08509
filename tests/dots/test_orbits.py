"""Circles sorted into orbits: one a segment, neighbours kept apart, strays left over."""

import numpy as np
import pytest

from aligncheck.dots.carried import carried, together
from aligncheck.dots.orbits import gather, turns
from aligncheck.dots.rims import seeds
from aligncheck.dots.support import believed, overlapping

Circles = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def circles(order: int, kinds: int, strays: int, seed: int) -> Circles:
    """Places by a hand, radii, colours and of which kind each is (-1 for a stray), in no order."""
    rng = np.random.default_rng(seed)
    xy, radius, colour, kind = [], [], [], []
    for k in range(kinds):
        home, size, paint = np.array([15 + 7.0 * k, 0]), rng.uniform(0.7, 3), rng.uniform(-0.4, 0.4, 3)
        for turn in turns(order):
            xy.append(turn @ home + rng.normal(0, 0.25, 2))
            radius.append(size * np.exp(rng.normal(0, 0.03)))
            colour.append(paint + rng.normal(0, 0.02, 3))
            kind.append(k)
    for _ in range(strays):
        xy.append(rng.uniform(-100, 100, 2))
        radius.append(rng.uniform(0.6, 4))
        colour.append(rng.uniform(-0.5, 0.5, 3))
        kind.append(-1)
    mixed = rng.permutation(len(xy))
    return tuple(np.array(part)[mixed] for part in (xy, radius, colour, kind))


@pytest.mark.parametrize("order", [2, 3, 12, 40])
def test_turned_circles_meet_those_of_a_plain_search(order: int) -> None:
    rng = np.random.default_rng(order)
    xy = rng.normal(0, 30, (150, 2))
    xy[:4] = rng.normal(0, 0.8, (4, 2))
    kind = rng.uniform(0, 4, (150, 2))
    pairs = together(list(carried(xy, kind, order, 2.0)))
    found = sorted(zip(pairs.one.tolist(), pairs.other.tolist(), pairs.turn.tolist(), strict=True))
    apart = np.hypot(*np.moveaxis((xy @ turns(order).transpose(0, 2, 1))[:, :, None] - xy, -1, 0))
    unlike = np.sqrt(apart**2 + ((kind[:, None] - kind) ** 2).sum(-1))
    wanted = sorted((i, j, k) for k, i, j in np.argwhere(unlike < 2.0).tolist() if i != j or k)
    assert 0 < len(wanted) < (apart < 2.0).sum() - 150
    assert found == wanted
    np.testing.assert_allclose(pairs.unlike_mm, unlike[pairs.turn, pairs.one, pairs.other])
    np.testing.assert_allclose(pairs.apart_mm, apart[pairs.turn, pairs.one, pairs.other])


@pytest.mark.parametrize(
    ("order", "kinds", "strays"), [(12, 10, 0), (12, 10, 400), (7, 8, 50), (2, 6, 0), (60, 6, 100)]
)
def test_every_kind_is_one_orbit_and_strays_are_none(order: int, kinds: int, strays: int) -> None:
    xy, radius, colour, kind = circles(order, kinds, strays, seed=order)
    orbits = gather(xy, radius, colour, np.random.default_rng(1).uniform(size=len(xy)), order, 0.06)
    pure = [np.unique(kind[o.members[o.members >= 0]]) for o in orbits]
    assert sorted(int(k[0]) for k in pure if len(k) == 1 and k[0] >= 0) == list(range(kinds))
    own = [o for o, k in zip(orbits, pure, strict=True) if k[-1] >= 0]
    assert sum(o.count for o in own) >= 0.98 * order * kinds
    members = np.concatenate([o.members[o.members >= 0] for o in orbits])
    assert len(np.unique(members)) == len(members)


def test_a_place_without_a_dot_is_left_empty() -> None:
    xy, radius, colour, kind = circles(12, 5, 0, seed=3)
    gone = np.flatnonzero(kind == 2)[4]
    kept = np.arange(len(xy)) != gone
    orbits = gather(xy[kept], radius[kept], colour[kept], np.ones(len(xy) - 1), 12, 0.06)
    empty = [o.place_mm[o.members < 0] for o in orbits if o.count == 11]
    assert len(empty) == 1
    assert np.hypot(*(empty[0][0] - xy[gone])) < 1.0


def test_of_circles_that_overlap_the_best_stand_whatever_their_sizes() -> None:
    rng = np.random.default_rng(6)
    xy, radius, score = rng.uniform(0, 100, (300, 2)), np.exp(rng.uniform(-1, 2.3, 300)), rng.uniform(size=300)
    one, other = overlapping(xy, radius)
    apart = np.hypot(*np.moveaxis(xy[:, None] - xy, -1, 0))
    wanted = {frozenset(p) for p in np.argwhere(apart < 0.82 * (radius[:, None] + radius)).tolist() if p[0] != p[1]}
    assert {frozenset((int(i), int(j))) for i, j in zip(one, other, strict=True)} == wanted
    assert len(one) == len(wanted)
    kept = believed(seeds(xy[:, 0], xy[:, 1], radius), score)
    assert (np.diff(score[kept]) <= 0).all()
    assert not any(frozenset((int(i), int(j))) in wanted for i in kept for j in kept if i != j)
