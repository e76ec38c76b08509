"""Which marks must move, which are too close to call and which fit, in the order in which they are told."""

from dataclasses import dataclass

from aligncheck.drift import Drift, RingDrift, SpokeDrift
from aligncheck.drift.drift import Verdict
from aligncheck.words.clock import spoke_positions


@dataclass(frozen=True)
class Ranked:
    """Spokes (each with its place in words) and rings of one verdict, together and worst first."""

    items: tuple[tuple[str, SpokeDrift] | RingDrift, ...]

    @property
    def rings(self) -> int:
        """How many of the items are rings."""
        return sum(isinstance(item, RingDrift) for item in self.items)

    @property
    def spokes(self) -> int:
        """How many of the items are spokes."""
        return len(self.items) - self.rings

    def __len__(self) -> int:
        return len(self.items)


def size_mm(item: tuple[str, SpokeDrift] | RingDrift) -> float:
    """How far a spoke's end or a ring is off, without its sign."""
    return abs(item.drift_mm) if isinstance(item, RingDrift) else abs(item[1].move_mm)


def worst_mm(drift: Drift) -> float:
    """The largest move of all; 0 where nothing must move."""
    return max((size_mm(item) for item in ranked(drift, "out").items), default=0.0)


def places(drift: Drift) -> tuple[str, ...]:
    """The clock positions of `drift.spokes`, in their order."""
    return spoke_positions([spoke.ideal_deg for spoke in drift.spokes], drift.marks.segments)


def ranked(drift: Drift, verdict: Verdict) -> Ranked:
    """Everything of one verdict, worst first."""
    items: list[tuple[str, SpokeDrift] | RingDrift] = [
        (place, spoke) for place, spoke in zip(places(drift), drift.spokes, strict=True) if spoke.verdict == verdict
    ]
    items += [ring for ring in drift.rings if ring.verdict == verdict]
    return Ranked(tuple(sorted(items, key=size_mm, reverse=True)))


def unseen(drift: Drift) -> tuple[str, ...]:
    """Clock positions of the places where the layout has a spoke and none was found."""
    if not drift.spokes:
        return ()
    pitch = 360.0 / drift.marks.segments
    first = drift.spokes[0]
    found = {spoke.spoke.place for spoke in drift.spokes}
    missing = [k for k in range(drift.marks.segments) if k not in found]
    return spoke_positions([first.ideal_deg + pitch * (k - first.spoke.place) for k in missing], drift.marks.segments)
