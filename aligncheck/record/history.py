"""Every spoke through all stages, in one frame: where it stood, how far off, and when it was moved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Point:
    """One spoke at one stage: its move with its 95 % half-width, the verdict, and its outer end in the frame."""

    move_mm: float
    u95_mm: float
    verdict: str
    outer_mm: Floats


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
        SpokeHistory(name, tuple(_nearest(stage, place, limit) for stage in bearings))
        for name, place in zip(names, places, strict=True)
    ]
    return tuple(h for h in histories if any(h.points))


def moved_spokes(histories: Sequence[SpokeHistory]) -> list[Moved]:
    """Every move of a spoke from one stage to the next that shows it, in the order of the stages.

    A spoke has moved where its outer end lies elsewhere, across the spoke, than both intervals allow.
    """
    found = []
    for history in histories:
        seen = [(k, p) for k, p in enumerate(history.points) if p is not None]
        for (since, before), (at, after) in pairwise(seen):
            along = before.outer_mm / np.linalg.norm(before.outer_mm)
            shift = abs(float((after.outer_mm - before.outer_mm) @ np.array([-along[1], along[0]])))
            if shift > float(np.hypot(before.u95_mm, after.u95_mm)):
                found.append(Moved(history.place, since, at, before, after))
    return sorted(found, key=lambda m: (m.at, -abs(m.before.move_mm - m.after.move_mm)))


def _points(result: Result, laid: Registration) -> list[Point]:
    return [
        Point(
            float(s["move_mm"]),
            float(s["move_u95_mm"] or 0.0),
            str(s["verdict"]),
            apply_homography(laid.matrix, np.array(s["outer_mm"], float)),
        )
        for s in result["spokes"]
        if s.get("move_mm") is not None
    ]


def _turned(laid: Registration | None) -> float:
    """Degrees clockwise by which the stage's panel is turned in the frame."""
    return 90.0 * laid.quarters if laid else 0.0


def _nearest(stage: Sequence[tuple[float, Point]], place_deg: float, limit_deg: float) -> Point | None:
    near = min(stage, key=lambda pair: abs(float(wrap(pair[0] - place_deg))), default=None)
    return near[1] if near is not None and abs(float(wrap(near[0] - place_deg))) < limit_deg else None
