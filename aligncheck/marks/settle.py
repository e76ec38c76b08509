"""The marks on the map that they themselves make likelier than the sides alone did."""

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.marks import ring_fit
from aligncheck.marks.marks import Line, Marks, Ring
from aligncheck.marks.round_rings import AROUND, around, settled_panel, waves_of
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Stroke = TypeVar("Stroke", bound=Line)

#: Points along a stroke at which it is carried over.
ALONG = 5


def settle(marks: Marks) -> Marks:
    """The same marks, in the frame of the panel as they settle it; those of a settled panel stay."""
    old = marks.panel
    if old.settled:
        return marks
    new = settled_panel(old, marks.rings)
    parts = [part for spoke in marks.spokes for part in spoke.strokes]
    lines: list[Line] = [*marks.spokes, *parts, *marks.diagonals]
    points = [marks.centre] + ([marks.spokes_meet] if marks.spokes_meet else [])
    # All in one call, for a call costs more than its points.
    samples = (
        [_along(line) for line in lines] + [around(ring) for ring in marks.rings] + [p.xy_mm[None] for p in points]
    )
    moves = iter(np.split(_carried(np.concatenate(samples), old, new), np.cumsum([len(s) for s in samples])[:-1]))
    spokes = [_line(spoke, next(moves)) for spoke in marks.spokes]
    strokes = iter([_line(part, next(moves)) for part in parts])
    diagonals = tuple(_line(line, next(moves)) for line in marks.diagonals)
    rings = tuple(_ring(ring, next(moves)) for ring in marks.rings)
    centre, *meeting = (replace(point, xy_mm=point.xy_mm + next(moves)[0]) for point in points)
    return replace(
        marks,
        panel=new,
        centre=centre,
        spokes_meet=meeting[0] if meeting else None,
        spokes=tuple(replace(s, strokes=tuple(next(strokes) for _ in s.strokes)) for s in spokes),
        rings=rings,
        diagonals=diagonals,
    )


def _carried(points_mm: Floats, old: Panel, new: Panel) -> Floats:
    """How far points (n, 2) move from one frame to the other."""
    return new.to_panel(old.to_photo(points_mm)) - points_mm


def _along(line: Line) -> Floats:
    """Points (ALONG, 2) from the inner to the outer end."""
    t = np.linspace(0.0, 1.0, ALONG)[:, None]
    return np.asarray(line.inner_mm + t * (line.outer_mm - line.inner_mm), float)


def _line(line: Stroke, moved: Floats) -> Stroke:
    """A stroke whose points move so: across, as the line fitted through them; along, as its ends."""
    t = np.linspace(0.0, 1.0, ALONG)
    across, along = line.across, outward(line.angle_deg)
    fitted = np.linalg.lstsq(np.column_stack([1 - t, t]), moved @ across, rcond=None)[0]
    inner, outer = (fitted[i] * across + (moved[end] @ along) * along for i, end in ((0, 0), (1, -1)))
    return replace(line, inner_mm=line.inner_mm + inner, outer_mm=line.outer_mm + outer)


def _ring(ring: Ring, moved_mm: Floats) -> Ring:
    """A ring whose points move so."""
    out = outward(np.arange(AROUND) * 360.0 / AROUND)
    change = waves_of(np.einsum("ti,ti->t", out, moved_mm))
    moved = replace(ring, radius_mm=ring.radius_mm + float(change[0]), centre_mm=ring.centre_mm + change[1:3])
    if ring.waves is None:
        return moved
    terms = ring.waves.terms_mm + np.pad(change[3:], (0, 8))
    waves = replace(ring.waves, terms_mm=terms, oval_mm=ring.waves.oval_mm + change[3:])
    return replace(moved, waves=waves, roundness_mm=ring_fit.roundness(terms))
