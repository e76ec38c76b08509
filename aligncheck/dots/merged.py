"""Dots that have run together: paint lies between two neighbours where the other segments show a gap."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrangement import Merged
from aligncheck.dots.chalk import Chalk
from aligncheck.dots.dots import Dots
from aligncheck.dots.evidence import CHALKY
from aligncheck.dots.places import Places
from aligncheck.dots.sample import inside, seen_at
from aligncheck.dots.view import DotView
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]

#: Wet dots run together across this at most, mm, or this share of the smaller dot.
MOST_GAP_MM, MOST_GAP_SHARE = 1.5, 0.4
#: Dots that overlap by more than this share of the smaller one were meant to.
MEANT = 0.25
#: Steps across a neck, mm, and how far beyond the smaller dot's half they go; places from one middle to the other.
STEP_MM, WIDE, ALONG = 0.12, 1.5, np.linspace(0.15, 0.85, 15)
#: So many pairs are looked at together.
AT_ONCE = 32
#: Paint is what differs from one of the two dots by less than this share of how it differs from the panel: a crease
#: between two domes that only touch is darker.
PAINT = 0.5
#: Two dots are one drop where their waist is this share of the smaller dot wide, and this much wider than their like:
#: a share of the smaller dot, and times their spread. Dots that touch have waists of half that.
LEAST_SHARE, WIDER_SHARE, SPREADS = 0.75, 0.4, 4.0
#: Half way between its two dots' rims a drop is no wider than this many times the smaller one.
BESIDE = 1.2
#: Of smaller dots, mm, a photo does not show whether they touch or have run together.
SMALLEST_MM = 1.8


@dataclass(frozen=True)
class _Pairs:
    """Neighbours in all segments: kinds a and b (n,), and of each segment (n, N) both circles: middle and radius."""

    kinds: NDArray[np.int64]
    one_mm: Floats
    other_mm: Floats
    one_r: Floats
    other_r: Floats
    odd: NDArray[np.bool_]

    def of(self, which: NDArray[np.int64]) -> "_Pairs":
        """Some of the pairs."""
        return _Pairs(*(getattr(self, field.name)[which] for field in fields(self)))


def merged(view: DotView, dots: Dots, places: Places, chalk: Chalk) -> tuple[Merged, ...]:
    """Pairs that have run together; those with a dot that is too big are named for that already."""
    pairs = _neighbours(dots, places)
    if not len(pairs.kinds):
        return ()
    neck, beside = _necks(view, pairs)
    small = 2 * np.minimum(pairs.one_r, pairs.other_r)
    gap = np.hypot(*np.moveaxis(pairs.other_mm - pairs.one_mm, -1, 0)) - pairs.one_r - pairs.other_r
    usual = np.median(neck, axis=1, keepdims=True)
    spread = 1.48 * np.median(np.abs(neck - usual), axis=1, keepdims=True)
    more = np.maximum(WIDER_SHARE * small, SPREADS * spread)
    joined = (neck - usual > more) & (neck > LEAST_SHARE * small) & (small > SMALLEST_MM) & ~pairs.odd
    # A stroke that crosses the gap goes on to both sides; circles that lie in one another are not two dots seen apart.
    joined &= (beside < BESIDE * small) & (gap > -MEANT * small)
    joined &= ~_chalk_between(view, dots, pairs, chalk)
    found = []
    for n, k in np.argwhere(joined):
        ends = np.array([pairs.one_mm[n, k], pairs.other_mm[n, k]])
        kinds = (int(pairs.kinds[n, 0]), int(pairs.kinds[n, 1]))
        found.append(Merged(kinds, ends.mean(0), ends, float(neck[n, k]), float(usual[n, 0])))
    return tuple(found)


def _chalk_between(view: DotView, dots: Dots, pairs: _Pairs, chalk: Chalk) -> NDArray[np.bool_]:
    """Where (n, N) a known line passes between two dots of which one is of chalk's colour: the line may join them."""
    both = ((pairs.one_mm, pairs.one_r), (pairs.other_mm, pairs.other_r))
    alike = [chalk.unlike(inside(view, middle, r).reshape(-1, 3)).reshape(r.shape) < CHALKY for middle, r in both]
    middle = (pairs.one_mm + pairs.other_mm) / 2 - dots.centre_mm
    reach = np.minimum(pairs.one_r, pairs.other_r) + chalk.width_mm / 2
    near = chalk.distance_mm(middle.reshape(-1, 2)).reshape(reach.shape) < reach
    return np.asarray(near & (alike[0] | alike[1]), bool)


def _neighbours(dots: Dots, places: Places) -> _Pairs:
    """All pairs of places so near that wet dots could meet; each kind of pair once, in all segments."""
    order, size = places.dot.shape[1], places.diameter_mm
    reach = (size + size.max()) / 2 + MOST_GAP_MM
    a, near, apart = Near(places.xy_mm.reshape(-1, 2)).pairs(places.xy_mm[:, 0], reach)
    b, turn = np.divmod(near, order)
    gap, small = apart - (size[a] + size[b]) / 2, np.minimum(size[a], size[b])
    # Pairs within one kind are met twice: from both ends.
    once = (b > a) | ((b == a) & (turn > 0) & (turn <= order // 2))
    kept = once & (gap > -MEANT * small) & (gap < np.minimum(MOST_GAP_MM, MOST_GAP_SHARE * small))
    table = np.column_stack([a, b, turn])[kept]
    segment = np.arange(order)[None]
    one = _circles(dots, places, table[:, :1], segment)
    other = _circles(dots, places, table[:, 1:2], (segment + table[:, 2:]) % order)
    return _Pairs(table[:, :2], one[0], other[0], one[1], other[1], one[2] | other[2])


def _circles(
    dots: Dots, places: Places, kind: NDArray[np.int64], segment: NDArray[np.int64]
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Middles (..., 2) in the panel frame, radii (...) and whether too big, of dots; where none is, of their place."""
    which = places.dot[kind, segment]
    there = which >= 0
    centre = np.array([d.centre_mm for d in dots.dots]).reshape(-1, 2)
    radius = np.array([d.diameter_mm for d in dots.dots]) / 2
    big = np.array([d.oversize for d in dots.dots], bool)
    middle = np.where(there[..., None], centre[which], places.xy_mm[kind, segment] + dots.centre_mm)
    usual = np.broadcast_to(places.diameter_mm[kind] / 2, which.shape)
    return middle, np.where(there, radius[which], usual), there & big[which]


def _necks(view: DotView, pairs: _Pairs) -> tuple[Floats, Floats]:
    """How wide (n, N) paint lies between two middles where it is narrowest, and half way between the rims, mm."""
    smaller = np.minimum(pairs.one_r, pairs.other_r)
    narrowest, width = np.empty(smaller.shape), np.empty(smaller.shape)
    # Some pairs at a time, of about one size: no farther is looked than about their own dots.
    by_size = np.argsort(smaller.max(1), kind="stable")
    for k in range(0, len(by_size), AT_ONCE):
        some = by_size[k : k + AT_ONCE]
        narrowest[some], width[some] = _necks_of(view, pairs.of(some))
    return narrowest, width


def _necks_of(view: DotView, pairs: _Pairs) -> tuple[Floats, Floats]:
    """The same of pairs of about one size."""
    way = pairs.other_mm - pairs.one_mm
    length = np.maximum(np.hypot(*np.moveaxis(way, -1, 0)), 1e-9)
    way = way / length[..., None]
    across = np.stack([-way[..., 1], way[..., 0]], -1)
    half = WIDE * float(np.minimum(pairs.one_r, pairs.other_r).max())
    steps = np.arange(-round(half / STEP_MM), round(half / STEP_MM) + 1) * STEP_MM
    colours = [inside(view, middle, r) for middle, r in ((pairs.one_mm, pairs.one_r), (pairs.other_mm, pairs.other_r))]
    narrowest, width = np.full(length.shape, np.inf), np.zeros(length.shape)
    halfway = 0.5 + 0.5 * (pairs.one_r - pairs.other_r) / length
    for share in (*ALONG, halfway):
        middle = pairs.one_mm + (share * length)[..., None] * way
        seen = seen_at(view, middle[..., None, :] + steps[:, None] * across[..., None, :])
        paint = np.zeros(seen.shape[:-1], bool)
        for colour in colours:
            strength = lengths(colour)[..., None]
            paint |= lengths(seen - colour[..., None, :]) < PAINT * strength
        width = _through_middle(paint) * STEP_MM
        narrowest = np.minimum(narrowest, width)
    return narrowest, width


def _through_middle(on: NDArray[np.bool_]) -> Floats:
    """Length (...) of the unbroken stretch in the last axis that holds its middle."""
    half = on.shape[-1] // 2
    right = np.minimum.accumulate(on[..., half:], axis=-1).sum(-1)
    left = np.minimum.accumulate(on[..., half::-1], axis=-1).sum(-1)
    return np.asarray(np.maximum(right + left - 1, 0), float)
