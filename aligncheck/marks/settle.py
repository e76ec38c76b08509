"""The marks on the map that they themselves make likelier than the sides alone did."""

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import ring_fit
from aligncheck.marks.marks import Line, Marks, Ring
from aligncheck.marks.moved import along, around, circle_by, ends_by
from aligncheck.marks.round_rings import settled_panel
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Stroke = TypeVar("Stroke", bound=Line)


def settle(marks: Marks) -> Marks:
    """The same marks, in the frame of the panel as they settle it; those of a settled panel stay."""
    old = marks.panel
    if old.settled:
        return marks
    return onto(settled_panel(old, marks.rings), marks)


def unsettle(marks: Marks) -> Marks:
    """The marks in the frame of the panel as its sides alone gave it."""
    return marks if marks.panel.unsettled is None else onto(marks.panel.unsettled, marks)


def onto(new: Panel, marks: Marks) -> Marks:
    """The same marks in the frame of another map of the same panel."""
    old = marks.panel
    parts = [part for spoke in marks.spokes for part in spoke.strokes]
    lines: list[Line] = [*marks.spokes, *parts, *marks.diagonals]
    points = [marks.centre] + ([marks.spokes_meet] if marks.spokes_meet else [])
    # All in one call, for a call costs more than its points.
    samples = [along(line) for line in lines] + [around(ring) for ring in marks.rings] + [p.xy_mm[None] for p in points]
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


def _line(line: Stroke, moved_mm: Floats) -> Stroke:
    """A stroke whose points move so."""
    inner, outer = ends_by(line, moved_mm)
    return replace(line, inner_mm=line.inner_mm + inner, outer_mm=line.outer_mm + outer)


def _ring(ring: Ring, moved_mm: Floats) -> Ring:
    """A ring whose points move so."""
    change = circle_by(moved_mm)
    moved = replace(ring, radius_mm=ring.radius_mm + float(change[0]), centre_mm=ring.centre_mm + change[1:3])
    if ring.waves is None:
        return moved
    terms = ring.waves.terms_mm + np.pad(change[3:], (0, 8))
    waves = replace(ring.waves, terms_mm=terms, oval_mm=ring.waves.oval_mm + change[3:])
    return replace(moved, waves=waves, roundness_mm=ring_fit.roundness(terms))
