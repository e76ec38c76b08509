"""Marks as points and numbers whose gradients run over all sources of error: the map's and their own."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.sources import MAP, Number, Place, Sources, gather
from aligncheck.geometry.angles import outward
from aligncheck.marks import Centre, Line, Marks, Ring
from aligncheck.marks.moved import along, around, circle_by, ends_by

Floats = NDArray[np.float64]


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
    samples = [along(x) for x in lines] + [around(r) for r in marks.rings] + [c.xy_mm[None] for c in points]
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


def _line_block(line: Line) -> Floats:
    """Own covariance (4, 4): across at the inner and outer end, along at the inner and outer end."""
    block = np.zeros((4, 4))
    block[:2, :2] = line.across_covariance
    block[2, 2], block[3, 3] = np.square(line.along_sd_mm)
    return block


def _place_line(line: Line, field: Floats, own: Floats) -> Ends:
    """A stroke's ends; across, the map moves the line fitted through the stroke's moved points."""
    across, ahead = line.across, outward(line.angle_deg)
    by_map = ends_by(line, field)
    places = []
    for end, xy in enumerate((line.inner_mm, line.outer_mm)):
        gradient = np.outer(across, own[end]) + np.outer(ahead, own[2 + end])
        gradient[:, :MAP] += by_map[end]
        places.append(Place(np.asarray(xy, float), gradient))
    return Ends(*places)


def _place_ring(ring: Ring, field: Floats, own: Floats) -> Circle:
    """A ring's least-squares circle; the map moves the circle fitted through the ring's moved points."""
    gradient = own.copy()
    gradient[:, :MAP] += circle_by(field)[:3]
    return Circle(Number(ring.radius_mm, gradient[0]), Place(np.asarray(ring.centre_mm, float), gradient[1:]))


def _place_point(point: Centre, field: Floats, own: Floats) -> Place:
    gradient = own.copy()
    gradient[:, :MAP] += field[0]
    return Place(np.asarray(point.xy_mm, float), gradient)
