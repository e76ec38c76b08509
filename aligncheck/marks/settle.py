"""The marks on the map that they themselves make likelier than the sides alone did."""

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.marks import ring_fit
from aligncheck.marks.marks import Centre, Line, Marks, Ring
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
    spokes = (_line(spoke, old, new) for spoke in marks.spokes)
    return replace(
        marks,
        panel=new,
        centre=_point(marks.centre, old, new),
        spokes_meet=_point(marks.spokes_meet, old, new) if marks.spokes_meet else None,
        spokes=tuple(replace(s, strokes=tuple(_line(part, old, new) for part in s.strokes)) for s in spokes),
        rings=tuple(_ring(ring, old, new) for ring in marks.rings),
        diagonals=tuple(_line(line, old, new) for line in marks.diagonals),
    )


def _carried(points_mm: Floats, old: Panel, new: Panel) -> Floats:
    """How far points (n, 2) move from one frame to the other."""
    return new.to_panel(old.to_photo(points_mm)) - points_mm


def _point(point: Centre, old: Panel, new: Panel) -> Centre:
    return replace(point, xy_mm=point.xy_mm + _carried(point.xy_mm, old, new))


def _line(line: Stroke, old: Panel, new: Panel) -> Stroke:
    """A stroke: across, as the line fitted through its moved points; along, as its ends."""
    t = np.linspace(0.0, 1.0, ALONG)
    moved = _carried(line.inner_mm + t[:, None] * (line.outer_mm - line.inner_mm), old, new)
    across, along = line.across, outward(line.angle_deg)
    fitted = np.linalg.lstsq(np.column_stack([1 - t, t]), moved @ across, rcond=None)[0]
    inner, outer = (fitted[i] * across + (moved[end] @ along) * along for i, end in ((0, 0), (1, -1)))
    return replace(line, inner_mm=line.inner_mm + inner, outer_mm=line.outer_mm + outer)


def _ring(ring: Ring, old: Panel, new: Panel) -> Ring:
    out = outward(np.arange(AROUND) * 360.0 / AROUND)
    change = waves_of(np.einsum("ti,ti->t", out, _carried(around(ring), old, new)))
    moved = replace(ring, radius_mm=ring.radius_mm + float(change[0]), centre_mm=ring.centre_mm + change[1:3])
    if ring.waves is None:
        return moved
    terms = ring.waves.terms_mm + np.pad(change[3:], (0, 8))
    waves = replace(ring.waves, terms_mm=terms, oval_mm=ring.waves.oval_mm + change[3:])
    return replace(moved, waves=waves, roundness_mm=ring_fit.roundness(terms))
