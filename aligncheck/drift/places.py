"""Marks as points and numbers whose gradients run over all sources of error: the map's and their own."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.sources import MAP, Number, Place, Sources, gather
from aligncheck.geometry.angles import outward
from aligncheck.marks import Centre, Line, Marks, Ring

Floats = NDArray[np.float64]

#: Points along a stroke and round a ring at which the map's displacement is taken. It is smooth: a handful would do.
ALONG, AROUND = 9, 48


@dataclass(frozen=True)
class Ends:
    """The two ends of a straight stroke."""

    inner: Place
    outer: Place


@dataclass(frozen=True)
class Circle:
    """A ring's radius and centre."""

    radius: Number
    centre: Place


@dataclass(frozen=True)
class Placed:
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
    size = len(sources.covariances[0])
    starts = MAP + np.cumsum([0] + [len(block) for block in own])
    ends = [_place_line(x, marks, at, size) for x, at in zip(lines, starts, strict=False)]
    rings = [_place_ring(r, marks, at, size) for r, at in zip(marks.rings, starts[len(lines) :], strict=False)]
    spots = [_place_point(c, marks, at, size) for c, at in zip(points, starts[len(lines) + len(rings) :], strict=False)]
    pieces = iter(ends[len(marks.spokes) :])
    return Placed(
        sources=sources,
        centre=spots[0],
        spokes_meet=spots[1] if len(spots) > 1 else None,
        origin=Place(np.zeros(2), np.zeros((2, size))),
        spokes=tuple(ends[: len(marks.spokes)]),
        strokes=tuple(tuple(next(pieces) for _ in spoke.strokes) for spoke in marks.spokes),
        rings=tuple(rings),
    )


def _line_block(line: Line) -> Floats:
    """Own covariance (4, 4): across at the inner and outer end, along at the inner and outer end."""
    block = np.zeros((4, 4))
    block[:2, :2] = line.across_covariance
    block[2, 2], block[3, 3] = np.square(line.along_sd_mm)
    return block


def _place_line(line: Line, marks: Marks, at: int, size: int) -> Ends:
    """A stroke's ends; across, the map moves the line fitted through the stroke's moved points."""
    t = np.linspace(0.0, 1.0, ALONG)
    points = line.inner_mm + t[:, None] * (line.outer_mm - line.inner_mm)
    field = marks.panel.field(points)
    across = line.across
    along = outward(line.angle_deg)
    moved = np.einsum("i,tij->tj", across, field)
    fitted = np.linalg.lstsq(np.column_stack([1 - t, t]), moved, rcond=None)[0]
    places = []
    for end, xy in enumerate((line.inner_mm, line.outer_mm)):
        gradient = np.zeros((2, size))
        gradient[:, :MAP] = np.outer(across, fitted[end]) + np.outer(along, along @ field[-end])
        gradient[:, at + end] = across
        gradient[:, at + 2 + end] = along
        places.append(Place(np.asarray(xy, float), gradient))
    return Ends(*places)


def _place_ring(ring: Ring, marks: Marks, at: int, size: int) -> Circle:
    """A ring's least-squares circle; the map moves the circle fitted through the ring's moved points."""
    out = outward(np.arange(AROUND) * 360.0 / AROUND)
    radial = np.einsum("ti,tij->tj", out, marks.panel.field(ring.centre_mm + ring.radius_mm * out))
    fitted = np.linalg.lstsq(np.column_stack([np.ones(AROUND), out]), radial, rcond=None)[0]
    gradient = np.zeros((3, size))
    gradient[:, :MAP] = fitted
    gradient[:, at : at + 3] = np.eye(3)
    return Circle(Number(ring.radius_mm, gradient[0]), Place(np.asarray(ring.centre_mm, float), gradient[1:]))


def _place_point(point: Centre, marks: Marks, at: int, size: int) -> Place:
    gradient = np.zeros((2, size))
    gradient[:, :MAP] = marks.panel.field(point.xy_mm)
    gradient[:, at : at + 2] = np.eye(2)
    return Place(np.asarray(point.xy_mm, float), gradient)


def mean_gradient(numbers: Sequence[Number]) -> Floats:
    """Gradient of the mean of some numbers."""
    return np.asarray(np.mean([n.gradient for n in numbers], axis=0), float)
