"""Every spoke through all stages, in one frame: where it stood, how far off, and when it was moved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.film.register import Registration
from aligncheck.geometry.angles import bearing, wrap
from aligncheck.geometry.projective import apply_homography
from aligncheck.words.clock import spoke_positions

Floats = NDArray[np.float64]
Result = Mapping[str, Any]

#: A spoke stands in a place if it bears within this share of a segment of it.
SAME = 0.4
#: A spoke that reaches less far than this share of its longest is covered at its end (by dots, say): what is seen of it
#: says little of how its end would have to move.
WHOLE = 0.9
#: Nobody draws a spoke anew by less than half a chalk line, mm; what looks like it is another part of the line seen.
LEAST_MOVED_MM = 0.5


@dataclass(frozen=True)
class Point:
    """One spoke at one stage: its move with its 95 % half-width, the verdict, and both its ends in the frame.

    `whole` is false where its outer end is covered.
    """

    move_mm: float
    u95_mm: float
    verdict: str
    inner_mm: Floats
    outer_mm: Floats
    whole: bool = True

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return float(np.linalg.norm(self.outer_mm - self.inner_mm))


@dataclass(frozen=True)
class SpokeHistory:
    """One place of the layout through all stages; None where a stage does not show it."""

    place: str
    points: tuple[Point | None, ...]


@dataclass(frozen=True)
class Moved:
    """A spoke that ends elsewhere at stage `at` (from 0) than when it was last seen at stage `since`."""

    place: str
    since: int
    at: int
    before: Point
    after: Point


def spoke_histories(results: Sequence[Result | None], laid: Sequence[Registration | None]) -> tuple[SpokeHistory, ...]:
    """Follow every spoke of the first stage that shows any; stages with another count of spokes are left out."""
    lead = next((k for k, r in enumerate(results) if r and r["spokes"] and r.get("segments") and laid[k]), None)
    if lead is None:
        return ()
    first = results[lead]
    segments = int(first["segments"]) if first else 0
    bearings = [
        [(float(bearing(point.outer_mm)), point) for point in _points(r, m)]
        if r and m and r.get("segments") == segments
        else []
        for r, m in zip(results, laid, strict=True)
    ]
    ideals = [(spoke["ideal_deg"] + _turned(laid[lead])) % 360 for spoke in (first or {})["spokes"]]
    rotation = float(np.median([(a + 180.0 / segments) % (360.0 / segments) - 180.0 / segments for a in ideals]))
    places = [rotation + 360.0 * k / segments for k in range(segments)]
    names = spoke_positions(places, segments)
    limit = SAME * 360.0 / segments
    histories = [
        SpokeHistory(name, _judged([_nearest(stage, place, limit) for stage in bearings]))
        for name, place in zip(names, places, strict=True)
    ]
    return tuple(h for h in histories if any(h.points))


def moved_spokes(histories: Sequence[SpokeHistory]) -> list[Moved]:
    """Every move of a spoke from one stage to the next that shows it, in the order of the stages.

    A spoke has moved where it lies elsewhere than both intervals allow, as far out as both stages show it.
    """
    found = []
    for history in histories:
        seen = [(k, p) for k, p in enumerate(history.points) if p is not None]
        for (since, before), (at, after) in pairwise(seen):
            if _shift_mm(before, after) > max(LEAST_MOVED_MM, float(np.hypot(before.u95_mm, after.u95_mm))):
                found.append(Moved(history.place, since, at, before, after))
    return sorted(found, key=lambda m: (m.at, -abs(m.before.move_mm - m.after.move_mm)))


def worst_mm(histories: Sequence[SpokeHistory], index: int) -> float | None:
    """The largest move, without its sign, of the spokes that a stage shows whole."""
    return max((abs(p.move_mm) for h in histories if (p := h.points[index]) and p.whole), default=None)


def _points(result: Result, laid: Registration) -> list[Point]:
    return [
        Point(
            float(s["move_mm"]),
            float(s["move_u95_mm"] or 0.0),
            str(s["verdict"]),
            apply_homography(laid.matrix, np.array(s["inner_mm"], float)),
            apply_homography(laid.matrix, np.array(s["outer_mm"], float)),
        )
        for s in result["spokes"]
        if s.get("move_mm") is not None
    ]


def _judged(points: Sequence[Point | None]) -> tuple[Point | None, ...]:
    """The same points, each told whether its outer end can be seen."""
    longest = max((float(np.linalg.norm(p.outer_mm)) for p in points if p), default=0.0)
    return tuple(p and replace(p, whole=float(np.linalg.norm(p.outer_mm)) >= WHOLE * longest) for p in points)


def _shift_mm(before: Point, after: Point) -> float:
    """How far two lines of one spoke lie apart, across it, at the outer end of the shorter one."""
    along = (before.outer_mm - before.inner_mm) / before.length_mm
    across = np.array([-along[1], along[0]])
    reach = min(float((p.outer_mm - before.inner_mm) @ along) for p in (before, after))
    start, end = (float((p - before.inner_mm) @ along) for p in (after.inner_mm, after.outer_mm))
    share = (reach - start) / (end - start) if end > start else 1.0
    at = after.inner_mm + share * (after.outer_mm - after.inner_mm)
    return abs(float((at - before.inner_mm) @ across))


def _turned(laid: Registration | None) -> float:
    """Degrees clockwise by which the stage's panel is turned in the frame."""
    return 90.0 * laid.quarters if laid else 0.0


def _nearest(stage: Sequence[tuple[float, Point]], place_deg: float, limit_deg: float) -> Point | None:
    near = min(stage, key=lambda pair: abs(float(wrap(pair[0] - place_deg))), default=None)
    return near[1] if near is not None and abs(float(wrap(near[0] - place_deg))) < limit_deg else None
