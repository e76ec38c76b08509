"""Marks as points and numbers whose gradients run over all sources of error: the map's and their own."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.sources import MAP, Number, Place, Sources, gather
from aligncheck.geometry.angles import outward
from aligncheck.marks import Centre, Line, Marks, Ring

Floats = NDArray[np.float64]

#: Points along a stroke and round a ring at which the map's displacement is taken. It is smooth: a handful would do.
ALONG, AROUND = 5, 24


class Ends(NamedTuple):
    """The two ends of a straight stroke."""

    inner: Place
    outer: Place


class Circle(NamedTuple):
    """A ring's radius and centre."""

    radius: Number
    centre: Place


class Placed(NamedTuple):
    """All marks of a panel with their gradients, in the order of the Marks value, and the sources they run over."""

    sources: Sources
    centre: Place
    spokes_meet: Place | None
    origin: Place
    spokes: tuple[Ends, ...]
    strokes: tuple[tuple[Ends, ...], ...]
    rings: tuple[Circle, ...]


def place_marks(marks: Marks) -> Placed:
    """Give every mark its gradient over the map and over its own numbers."""
    lines: list[Line] = [*marks.spokes, *(s for spoke in marks.spokes for s in spoke.strokes)]
    points = [marks.centre] + ([marks.spokes_meet] if marks.spokes_meet else [])
    own = [_line_block(x) for x in lines] + [r.covariance for r in marks.rings] + [c.covariance for c in points]
    sources = gather(marks.panel, own)
    blanks = _blanks(own, len(sources.covariances[0]))
    # One call for all points: the map's derivative costs the same for one as for a thousand.
    samples = [_along(x) for x in lines] + [_around(r) for r in marks.rings] + [c.xy_mm[None] for c in points]
    fields = np.split(marks.panel.field(np.concatenate(samples)), np.cumsum([len(s) for s in samples])[:-1])
    blocks = iter(zip(fields, blanks, strict=True))
    ends = [_place_line(x, *next(blocks)) for x in lines]
    rings = [_place_ring(r, *next(blocks)) for r in marks.rings]
    spots = [_place_point(c, *next(blocks)) for c in points]
    pieces = iter(ends[len(marks.spokes) :])
    return Placed(
        sources=sources,
        centre=spots[0],
        spokes_meet=spots[1] if len(spots) > 1 else None,
        origin=Place(np.zeros(2), np.zeros_like(spots[0].gradient)),
        spokes=tuple(ends[: len(marks.spokes)]),
        strokes=tuple(tuple(next(pieces) for _ in spoke.strokes) for spoke in marks.spokes),
        rings=tuple(rings),
    )


def _blanks(own: list[Floats], size: int) -> list[Floats]:
    """For each block of own numbers its gradient (k, size) over all sources: one for itself, nothing else yet."""
    starts = MAP + np.cumsum([0] + [len(block) for block in own])
    blanks = []
    for block, at in zip(own, starts, strict=False):
        blank = np.zeros((len(block), size))
        blank[:, at : at + len(block)] = np.eye(len(block))
        blanks.append(blank)
    return blanks


def _along(line: Line) -> Floats:
    """Points (ALONG, 2) from the inner to the outer end."""
    return np.asarray(line.inner_mm + np.linspace(0.0, 1.0, ALONG)[:, None] * (line.outer_mm - line.inner_mm), float)


def _around(ring: Ring) -> Floats:
    """Points (AROUND, 2) round the ring."""
    return np.asarray(ring.centre_mm + ring.radius_mm * outward(np.arange(AROUND) * 360.0 / AROUND), float)


def _line_block(line: Line) -> Floats:
    """Own covariance (4, 4): across at the inner and outer end, along at the inner and outer end."""
    block = np.zeros((4, 4))
    block[:2, :2] = line.across_covariance
    block[2, 2], block[3, 3] = np.square(line.along_sd_mm)
    return block


def _place_line(line: Line, field: Floats, own: Floats) -> Ends:
    """A stroke's ends; across, the map moves the line fitted through the stroke's moved points."""
    t = np.linspace(0.0, 1.0, ALONG)
    across, along = line.across, outward(line.angle_deg)
    fitted = np.linalg.lstsq(np.column_stack([1 - t, t]), across @ field, rcond=None)[0]
    places = []
    for end, (xy, moved) in enumerate(((line.inner_mm, field[0]), (line.outer_mm, field[-1]))):
        gradient = np.outer(across, own[end]) + np.outer(along, own[2 + end])
        gradient[:, :MAP] += np.outer(across, fitted[end]) + np.outer(along, along @ moved)
        places.append(Place(np.asarray(xy, float), gradient))
    return Ends(*places)


def _place_ring(ring: Ring, field: Floats, own: Floats) -> Circle:
    """A ring's least-squares circle; the map moves the circle fitted through the ring's moved points."""
    out = outward(np.arange(AROUND) * 360.0 / AROUND)
    radial = np.einsum("ti,tij->tj", out, field)
    gradient = own.copy()
    gradient[:, :MAP] += np.linalg.lstsq(np.column_stack([np.ones(AROUND), out]), radial, rcond=None)[0]
    return Circle(Number(ring.radius_mm, gradient[0]), Place(np.asarray(ring.centre_mm, float), gradient[1:]))


def _place_point(point: Centre, field: Floats, own: Floats) -> Place:
    gradient = own.copy()
    gradient[:, :MAP] += field[0]
    return Place(np.asarray(point.xy_mm, float), gradient)
