"""What could not be judged of the dots: too small for this photo, neither there nor gone, or not painted yet."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots, MissingDot
from aligncheck.dots.places import Places
from aligncheck.dots.sample import inside
from aligncheck.dots.view import DotView
from aligncheck.geometry.angles import bearing
from aligncheck.notes import Note
from aligncheck.units import clock_span

Floats = NDArray[np.float64]

#: A dot is told from chance from so many pixels of the photo on, as wide as two rims; dots of less than a millimetre
#: are rare, so a photo that shows those needs no word.
LEAST_PX, LEAST_MM = 6.0, 1.1
#: A place is bare where it shows less than this share of its kind's paint.
BARE = 0.35
#: A sector nearly as wide as a segment in which more than this share of the places, and at least so many, are bare is
#: not painted yet.
SECTOR, UNPAINTED, LEAST_PLACES = 0.95, 0.8, 4


def bare_places(view: DotView, dots: Dots, places: Places) -> NDArray[np.bool_]:
    """Which places (kinds, segments) show no more than the bare panel."""
    radius = np.broadcast_to(places.diameter_mm[:, None] / 2, places.dot.shape)
    paint = np.linalg.norm(inside(view, places.xy_mm + dots.centre_mm, radius), axis=-1)
    usual = np.array([np.median(p[f]) if f.any() else 0.0 for p, f in zip(paint, places.filled, strict=True)])
    return np.asarray(~places.filled & (paint < BARE * usual[:, None]), bool)


def with_limits(dots: Dots, places: Places, bare: NDArray[np.bool_], px_per_mm: float) -> Dots:
    """The dots with notes on what could not be judged; places that nobody painted yet are not missing ones."""
    notes = list(dots.notes)
    smallest = LEAST_PX / px_per_mm
    if smallest > LEAST_MM:
        notes.append(Note("dots_too_small", {"mm": f"{smallest:.1f}"}))
    empty = ~places.filled
    at = np.asarray(bearing(places.xy_mm), float)
    unpainted = _unpainted(at, bare, dots.order)
    missing = tuple(gap for gap in dots.missing if not unpainted[_index(dots, places, gap)])
    if unpainted.any():
        notes.append(Note("dots_unpainted", {"what": _count(unpainted, "place"), "where": clock_span(at[unpainted])}))
    gone = np.zeros(empty.shape, bool)
    for gap in missing:
        gone[_index(dots, places, gap)] = True
    doubtful = empty & ~unpainted & ~gone & ~_nothing_below(dots, places)
    if doubtful.any():
        notes.append(Note("dots_unjudged", {"what": _count(doubtful, "dot"), "where": clock_span(at[doubtful])}))
    return replace(dots, missing=missing, notes=tuple(notes))


def _unpainted(at_deg: Floats, bare_at: NDArray[np.bool_], order: int) -> NDArray[np.bool_]:
    """Which bare places lie in a sector of a segment's width in which nearly all are bare."""
    around = np.argsort(at_deg.ravel())
    count = len(around)
    where, bare = at_deg.ravel()[around], bare_at.ravel()[around]
    twice = np.append(where, where + 360)
    total = np.concatenate([[0], np.cumsum(np.append(bare, bare))])
    start = np.arange(count)
    stop = np.searchsorted(twice, where + SECTOR * 360.0 / order)
    share = (total[stop] - total[start]) / (stop - start)
    found = np.zeros(2 * count, bool)
    for first, last in zip(start, stop, strict=True):
        if share[first] > UNPAINTED and last - first >= LEAST_PLACES:
            found[first:last] = True
    whole = np.zeros(count, bool)
    whole[around] = (found[:count] | found[count:]) & bare
    return whole.reshape(bare_at.shape)


def _index(dots: Dots, places: Places, gap: MissingDot) -> tuple[int, int]:
    """Kind and segment of the place of a missing dot."""
    away = np.hypot(*(places.xy_mm[gap.kind] + dots.centre_mm - gap.centre_mm).T)
    return gap.kind, int(away.argmin())


def _nothing_below(dots: Dots, places: Places) -> NDArray[np.bool_]:
    """Which places (kinds, segments) are meant to lie on a dot that is not there: that one's place tells."""
    found = np.zeros(places.dot.shape, bool)
    for k, kind in enumerate(dots.kinds):
        if kind.on is not None:
            apart = np.hypot(*(places.xy_mm[k][:, None] - places.xy_mm[kind.on]).transpose(2, 0, 1))
            found[k] = ~places.filled[kind.on][apart.argmin(1)]
    return found


def _count(which: NDArray[np.bool_], name: str) -> str:
    number = int(which.sum())
    return f"{number} {name}" if number == 1 else f"{number} {name}s"
