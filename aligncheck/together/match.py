"""Which mark of one photo is which mark of another, and the numbers that both measure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, wrap
from aligncheck.marks.ovals import oval_spread
from aligncheck.together.seen import OVAL, Seen, SeenMark

Floats = NDArray[np.float64]
#: How far two marks lie apart, in units of what still is one mark.
Apart = Callable[[Floats, Floats], float]

#: Two photos' spokes are one if their outer ends bear alike within this share of a segment, and two rings if their
#: radii agree within this share of the narrowest gap: maps are wrong by far less, neighbours lie further off.
SAME = 0.35
#: And never further apart than this: a segment of three, or a lone ring, leaves too much room. Degrees, mm.
SAME_AT_MOST_DEG, SAME_AT_MOST_MM = 5.0, 2.5


@dataclass(frozen=True)
class Observed:
    """Numbers (n,) that one photo measures of the common ones, with gradient (n, 10) and own covariance (n, n).

    `index` (n,) tells which of the common numbers each is, `mark` (n,) which mark it belongs to.
    """

    index: NDArray[np.int64]
    mark: NDArray[np.int64]
    numbers: Floats
    by_map: Floats
    own: Floats

    def only(self, keep: NDArray[np.bool_]) -> "Observed":
        """The kept numbers alone."""
        own = self.own[np.ix_(keep, keep)]
        return Observed(self.index[keep], self.mark[keep], self.numbers[keep], self.by_map[keep], own)


@dataclass(frozen=True)
class Frame:
    """The common marks, as rough places that photos are compared at.

    Numbers in their order: two offsets a spoke (across it, at its rough inner and outer end), then x, y, radius and two
    of its oval a ring, last x and y of the centre mark.
    """

    spokes: tuple[Floats, ...]
    rings: tuple[Floats, ...]

    @property
    def size(self) -> int:
        """How many common numbers there are."""
        return 2 * len(self.spokes) + OVAL * len(self.rings) + 2


def common_frame(photos: Sequence[Seen], least: int = 1) -> Frame:
    """Every mark that at least `least` photos show, each placed as the first of them sees it."""
    spokes = _groups([[s.numbers for s in p.spokes] for p in photos], _same_spoke(photos[0].segments))
    rings = _groups([[r.numbers for r in p.rings] for p in photos], _same_ring([r.numbers[2] for r in photos[0].rings]))
    kept_spokes = [g[0] for g in spokes if len(g) >= least]
    kept_spokes.sort(key=lambda s: float(bearing(s[2:])))
    return Frame(tuple(kept_spokes), tuple(sorted((g[0] for g in rings if len(g) >= least), key=lambda r: r[2])))


def _same_spoke(segments: int) -> Apart:
    limit = min(SAME * 360.0 / max(segments, 1), SAME_AT_MOST_DEG)

    def apart(a: Floats, b: Floats) -> float:
        """Distance in units of the limit; spokes are compared by their direction."""
        return abs(float(wrap(bearing(a[2:] - a[:2]) - bearing(b[2:] - b[:2])))) / limit

    return apart


def _same_ring(radii: list[float]) -> Apart:
    gaps = np.diff(np.sort(radii))
    limit = min(SAME * float(gaps.min()) if len(gaps) else SAME_AT_MOST_MM, SAME_AT_MOST_MM)

    def apart(a: Floats, b: Floats) -> float:
        return abs(float(a[2] - b[2])) / max(limit, 0.1)

    return apart


def _groups(photos: list[list[Floats]], apart: Apart) -> list[list[Floats]]:
    """Marks of all photos that are the same, in the order of their first sight."""
    groups: list[list[Floats]] = []
    for marks in photos:
        for mark in marks:
            near = min(groups, key=lambda g: apart(g[0], mark), default=None)
            if near is not None and apart(near[0], mark) < 1:
                near.append(mark)
            else:
                groups.append([mark])
    return groups


def observe(frame: Frame, photo: Seen) -> Observed:
    """The common numbers as `photo` (already turned into the frame) measures them."""
    parts: list[tuple[list[int], int, Floats, Floats, Floats]] = []
    apart = _same_spoke(photo.segments)
    for k, place in enumerate(frame.spokes):
        spoke = min(photo.spokes, key=lambda s: apart(place, s.numbers), default=None)
        if spoke is not None and apart(place, spoke.numbers) < 1:
            w, zero = across(place, spoke)
            parts.append(([2 * k, 2 * k + 1], k, w @ spoke.numbers - zero, w @ spoke.by_map, w @ spoke.own @ w.T))
    first = 2 * len(frame.spokes)
    near = _same_ring([r[2] for r in frame.rings])
    for k, place in enumerate(frame.rings):
        ring = min(photo.rings, key=lambda r: near(place, r.numbers), default=None)
        if ring is not None and near(place, ring.numbers) < 1:
            columns = [first + OVAL * k + i for i in range(len(ring.numbers))]
            parts.append((columns, len(frame.spokes) + k, ring.numbers, ring.by_map, ring.own))
    if photo.centre is not None:
        c = photo.centre
        parts.append(
            ([frame.size - 2, frame.size - 1], len(frame.spokes) + len(frame.rings), c.numbers, c.by_map, c.own)
        )
    return _stacked(parts)


class Roundness(NamedTuple):
    """Which of the common numbers (n,) are ovals of rings, and how surely these are none: precision (n, n)."""

    which: NDArray[np.int64]
    precision: Floats


def roundness_of(frame: Frame, photos: Sequence[Seen]) -> Roundness:
    """How round the rings are held to be: as one photo holds them, by the mean of what the photos say of the hand."""
    near = _same_ring([r[2] for r in frame.rings])
    index, hands, read = [], [], []
    for k, place in enumerate(frame.rings):
        rings = [r for p in photos for r in p.rings if near(place, r.numbers) < 1 and r.hand_mm is not None]
        if rings:
            first = 2 * len(frame.spokes) + OVAL * k + 3
            index += [first, first + 1]
            hands.append(float(np.mean([r.hand_mm for r in rings])))
            read.append(np.mean([r.own[3:, 3:] for r in rings], axis=0))
    return Roundness(np.array(index, int), np.asarray(np.linalg.inv(oval_spread(hands, read)), float))


def across(place: Floats, spoke: SeenMark) -> tuple[Floats, Floats]:
    """W (2, 4) and zero (2,): W numbers - zero are the offsets of the spoke's line from `place`, at both its ends.

    Positive is clockwise. The spoke's line is met where it crosses the perpendiculars through the ends of `place`.
    """
    inner, outer = place[:2], place[2:]
    along = (outer - inner) / np.linalg.norm(outer - inner)
    normal = np.array([-along[1], along[0]])
    a, b = spoke.numbers[:2] @ along, spoke.numbers[2:] @ along
    rows, zero = [], []
    for end in (inner, outer):
        s = (end @ along - a) / (b - a)
        rows.append(np.concatenate([(1 - s) * normal, s * normal]))
        zero.append(float(end @ normal))
    return np.array(rows), np.array(zero)


def _stacked(parts: list[tuple[list[int], int, Floats, Floats, Floats]]) -> Observed:
    size = sum(len(p[0]) for p in parts)
    own = np.zeros((size, size))
    at = 0
    for part in parts:
        n = len(part[0])
        own[at : at + n, at : at + n] = part[4]
        at += n
    return Observed(
        index=np.array([i for p in parts for i in p[0]], int),
        mark=np.array([p[1] for p in parts for _ in p[0]], int),
        numbers=np.concatenate([p[2] for p in parts]) if parts else np.zeros(0),
        by_map=np.vstack([p[3] for p in parts]) if parts else np.zeros((0, 10)),
        own=own,
    )
