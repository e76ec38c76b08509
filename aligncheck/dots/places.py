"""Where dots should be: the places of every kind, one in each segment, and which dot stands in which."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots
from aligncheck.geometry.angles import bearing, outward, wrap
from aligncheck.geometry.small import nanmedians

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: Dots nearer the centre than this say nothing of a turn, mm.
TURN_FROM_MM = 8.0
#: A segment's own turn is the median of the dots within this share of a segment to both sides, where at least so many
#: tell it and it is this many times its own standard error: what is less is the hand's.
BESIDE, TURN_FROM, TURN_SURE = 0.35, 5, 3.0
#: So many turns at a time are looked at, which bounds memory.
MOST_BESIDE = 1 << 20

#: A dot of no kind fills an empty place from so near, mm and as a share of the kind's size, if its own size (natural
#: log) differs by less than this.
STRANGER_MM, STRANGER_SHARE, STRANGER_SIZE = 0.4, 0.35, 0.25


@dataclass(frozen=True)
class Places:
    """K kinds in N segments.

    Attributes
    ----------
    xy_mm : ndarray (K, N, 2)
        From the centre; the middle of all dots of the kind, turned to every segment.
    diameter_mm : ndarray (K,)
        Median of each kind.
    dot : ndarray (K, N) of int
        Index of the dot that stands there in `Dots.dots`, -1 where none does.
    """

    xy_mm: Floats
    diameter_mm: Floats
    dot: Integers

    @property
    def filled(self) -> NDArray[np.bool_]:
        """Where (K, N) a dot stands."""
        return np.asarray(self.dot >= 0, bool)

    @property
    def radius_mm(self) -> Floats:
        """How far out each kind lies (K,)."""
        return np.asarray(np.hypot(*self.xy_mm[:, 0].T), float)


def places_of(dots: Dots) -> Places | None:
    """Lay out the places of all kinds; None where no kind is known."""
    order, count = dots.order, len(dots.kinds)
    if not count or order < 2:
        return None
    pitch = 360.0 / order
    place, dot = np.zeros((count, order, 2)), np.full((count, order), -1, np.int64)
    members = _members(dots)
    for k in range(count):
        mine = members[k]
        arms = np.array([dots.dots[i].centre_mm for i in mine], float).reshape(-1, 2) - dots.centre_mm
        radius = float(np.median(np.hypot(*arms.T))) if mine else dots.kinds[k].radius_mm
        bearings = np.asarray(bearing(arms), float)
        first = _first(bearings, pitch)
        place[k] = radius * outward(first + pitch * np.arange(order))
        _assign(dot[k], mine, np.hypot(*(arms[:, None] - place[k]).transpose(2, 0, 1)))
    found = Places(place, np.array([kind.diameter_mm for kind in dots.kinds]), dot)
    _take_strangers(dots, found)
    return found


def _take_strangers(dots: Dots, places: Places) -> None:
    """Put dots of no kind into empty places where one of that size is wanted: they differ in colour only."""
    free = [i for i, d in enumerate(dots.dots) if d.kind is None]
    empty = np.argwhere(~places.filled)
    if not free or not len(empty):
        return
    centres = np.array([dots.dots[i].centre_mm for i in free]) - dots.centre_mm
    size = np.log([dots.dots[i].diameter_mm for i in free])
    wanted = places.diameter_mm[empty[:, 0]]
    off = np.hypot(*(centres[:, None] - places.xy_mm[empty[:, 0], empty[:, 1]]).transpose(2, 0, 1))
    fits = (off < STRANGER_MM + STRANGER_SHARE * wanted) & (np.abs(size[:, None] - np.log(wanted)) < STRANGER_SIZE)
    for i, e in sorted(np.argwhere(fits).tolist(), key=lambda pair: off[pair[0], pair[1]]):
        if places.dot[tuple(empty[e])] < 0 and free[i] >= 0:
            places.dot[tuple(empty[e])] = free[i]
            free[i] = -1


def _members(dots: Dots) -> list[list[int]]:
    """Indices of the dots of each kind."""
    members: list[list[int]] = [[] for _ in dots.kinds]
    for i, dot in enumerate(dots.dots):
        if dot.kind is not None:
            members[dot.kind].append(i)
    return members


def _first(bearings: Floats, pitch_deg: float) -> float:
    """The bearing within the first segment that a kind's dots share, by the median about their circular mean."""
    if not len(bearings):
        return 0.0
    turn = np.exp(2j * np.pi * bearings / pitch_deg)
    mean = np.degrees(np.angle(turn.mean())) / 360 * pitch_deg
    off = wrap((bearings - mean) * 360 / pitch_deg) * pitch_deg / 360
    return float((mean + np.median(off)) % pitch_deg)


def _assign(dot: Integers, mine: list[int], distance: Floats) -> None:
    """Put each dot of `mine` at its nearest place; of two at one place the nearer stays."""
    nearest = distance.argmin(1) if len(mine) else np.zeros(0, np.int64)
    for row in np.argsort(-distance.min(1)) if len(mine) else ():
        dot[nearest[row]] = mine[row]


def off_place(dots: Dots, places: Places) -> Floats:
    """How far (dots, 2) each dot lies clockwise and outward of its place, mm; nan for a dot of no kind.

    Dots follow the spokes as drawn: what a segment's dots are turned by in common is the spoke's fault, not theirs.
    """
    found = np.full((len(dots.dots), 2), np.nan)
    kind, segment = np.nonzero(places.filled)
    which = places.dot[kind, segment]
    if not len(which):
        return found
    arms = np.array([dots.dots[i].centre_mm for i in which], float) - dots.centre_mm
    home = places.xy_mm[kind, segment]
    out = home / np.maximum(np.hypot(*home.T), 1e-9)[:, None]
    off = arms - home
    along, radial = off[:, 1] * out[:, 0] - off[:, 0] * out[:, 1], (off * out).sum(1)
    arm = np.hypot(*home.T)
    turn = _local_turn(np.asarray(bearing(home), float), np.where(arm > TURN_FROM_MM, along / arm, np.nan), dots.order)
    found[which] = np.column_stack([along - turn * arm, radial])
    return found


def _local_turn(bearings: Floats, turn: Floats, order: int) -> Floats:
    """Median turn (n,), radians, of the dots beside each; 0 where too few tell, or none surely."""
    reach = BESIDE * 360.0 / order
    told = np.flatnonzero(~np.isnan(turn))
    by_bearing = told[np.argsort(bearings[told])]
    around = np.concatenate([bearings[by_bearing] - 360, bearings[by_bearing], bearings[by_bearing] + 360])
    turns = np.append(np.tile(turn[by_bearing], 3), np.nan)
    low, high = np.searchsorted(around, bearings - reach), np.searchsorted(around, bearings + reach)
    found = np.zeros(len(bearings))
    count = high - low
    parts = max(1, len(bearings) * int(count.max(initial=0)) // MOST_BESIDE)
    for some in np.array_split(np.arange(len(bearings)), parts):
        place = low[some, None] + np.arange(max(int(count[some].max(initial=0)), 1))
        beside = turns[np.where(place < high[some, None], place, -1)]
        middle = nanmedians(beside)
        # The median of n Gaussian values is known to 1.25 sd / sqrt(n).
        error = 1.25 * 1.48 * nanmedians(np.abs(beside - middle[:, None])) / np.sqrt(np.maximum(count[some], 1))
        sure = (count[some] >= TURN_FROM) & (np.abs(middle) > TURN_SURE * error)
        found[some] = np.where(sure, middle, 0.0)
    return found
