"""Marks and layout in, Drift out."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.drift import Drift, RingDrift, SpokeDrift, StrokeFigures
from aligncheck.drift.numbering import number_by_pitch, number_by_radii, number_rings
from aligncheck.drift.places import Circle, Ends, Placed, place_marks
from aligncheck.drift.sources import UNSEEN, Number, Place, Sources
from aligncheck.drift.turn import Turn, common_turn, direction_of, drift_of, miss_of, move_of
from aligncheck.drift.verdict import verdict
from aligncheck.layout import Layout
from aligncheck.marks import Marks, Spoke

#: No move is known better than this, mm: that of the very middle spoke is nought by definition, and would seem exact.
LEAST_U95_MM = 0.002


def measure_drift(marks: Marks, layout: Layout | None = None) -> Drift:
    """Compare what is drawn with what was meant.

    Parameters
    ----------
    marks : Marks
    layout : Layout, optional
        What is not given in it is taken from the marks: segments, rotation, ring pitch.

    Returns
    -------
    Drift
        Every figure with its 95 % uncertainty, of drawing and panel map together: :mod:`aligncheck.drift.sources`.
    """
    layout = layout or Layout()
    placed = place_marks(marks)
    centre = placed.origin if layout.centre == "panel" else placed.centre
    segments = layout.segments or marks.segments
    turn = common_turn(placed, centre, segments, layout.rotation_deg) if placed.spokes and segments else None
    rings, pitch = _ring_drifts(marks, placed, centre, layout)
    off = Place(placed.centre.xy_mm, placed.centre.gradient)
    meet = placed.spokes_meet
    return Drift(
        marks=marks,
        layout=replace(layout, segments=segments or None),
        centre_mm=_xy(centre),
        centre_u95_mm=placed.sources.u95_point(centre),
        spokes_meet_mm=_xy(meet) if meet else None,
        spokes_meet_u95_mm=placed.sources.u95_point(meet) if meet else None,
        centre_off_panel_mm=float(np.hypot(*off.xy_mm)),
        centre_off_panel_u95_mm=placed.sources.u95_point(off),
        rotation_deg=turn.rotation.value if turn else layout.rotation_deg,
        rotation_u95_deg=placed.sources.u95(turn.rotation) if turn else None,
        ring_pitch_mm=pitch,
        tolerance_mm=layout.tolerance_mm,
        spokes=_spoke_drifts(marks, placed, centre, turn, layout.tolerance_mm) if turn else (),
        rings=rings,
    )


def _xy(place: Place) -> tuple[float, float]:
    return float(place.xy_mm[0]), float(place.xy_mm[1])


def _spoke_drifts(marks: Marks, placed: Placed, centre: Place, turn: Turn, tolerance: float) -> tuple[SpokeDrift, ...]:
    """All spokes, clockwise from 12 o'clock."""
    ideals = [Number(float(a), turn.rotation.gradient) for a in turn.ideal_deg]
    found = [
        _spoke_drift(spoke, ends, pieces, ideal, centre, placed.sources, tolerance)
        for spoke, ends, pieces, ideal in zip(marks.spokes, placed.spokes, placed.strokes, ideals, strict=True)
    ]
    return tuple(sorted(found, key=lambda s: s.angle_deg))


def _spoke_drift(
    spoke: Spoke,
    ends: Ends,
    pieces: tuple[Ends, ...],
    ideal: Number,
    centre: Place,
    sources: Sources,
    tolerance: float,
) -> SpokeDrift:
    direction = direction_of(ends)
    turned = drift_of(direction, ideal)
    miss = miss_of(ends.inner, centre, direction)
    move = move_of(ends.outer, centre, ideal)
    move_u95 = max(sources.u95(move), LEAST_U95_MM)
    return SpokeDrift(
        spoke=spoke,
        angle_deg=direction.value,
        angle_u95_deg=sources.u95(direction),
        ideal_deg=ideal.value,
        drift_deg=turned.value,
        drift_u95_deg=sources.u95(turned),
        miss_mm=miss.value,
        miss_u95_mm=sources.u95(miss),
        move_mm=move.value,
        move_u95_mm=move_u95,
        verdict=verdict(move.value, move_u95, tolerance),
        strokes=tuple(_stroke_figures(piece, sources) for piece in pieces),
    )


def _stroke_figures(ends: Ends, sources: Sources) -> StrokeFigures:
    direction = direction_of(ends)
    return StrokeFigures(_xy(ends.inner), _xy(ends.outer), direction.value, sources.u95(direction))


def _ring_drifts(
    marks: Marks, placed: Placed, centre: Place, layout: Layout
) -> tuple[tuple[RingDrift, ...], float | None]:
    """All rings from the inside out, and the pitch (None where radii are listed or nothing is drawn)."""
    radii = np.array([r.radius_mm for r in marks.rings])
    circles = placed.rings
    if not circles:
        return (), layout.ring_pitch_mm
    if layout.ring_radii_mm:
        numbers = number_by_radii(radii, layout.ring_radii_mm)
        ideals = [Number(layout.ring_radii_mm[k - 1], np.zeros_like(circles[0].radius.gradient)) for k in numbers]
        pitch = None
    elif layout.ring_pitch_mm:
        numbers, pitch = number_by_pitch(radii, layout.ring_pitch_mm), layout.ring_pitch_mm
        ideals = [Number(float(k * pitch), np.zeros_like(circles[0].radius.gradient)) for k in numbers]
    else:
        numbering = number_rings(radii)
        numbers, pitch = numbering.numbers, numbering.pitch_mm
        k = np.where(numbering.fitted, numbers, 0)
        slope = k @ np.array([c.radius.gradient for c in circles]) / (k @ k)
        slope[UNSEEN] = _unseen_share(k, radii, numbering.pitch_mm or 0.0)
        ideals = [Number(float(n * (pitch or 0.0)), n * slope) for n in numbers]
    found = [
        _ring_drift(i, int(n), marks, circle, ideal, centre, placed.sources, layout.tolerance_mm)
        for i, (n, circle, ideal) in enumerate(zip(numbers, circles, ideals, strict=True))
    ]
    return tuple(sorted(found, key=lambda r: r.radius_mm)), pitch


def _unseen_share(numbers: NDArray[np.int64], radii: NDArray[np.float64], pitch: float) -> float:
    """What the rings that are drawn but not seen would add to the pitch, one standard deviation in mm.

    They lie under a piece or are rubbed away, between the seen ones or inside them, and off their places by as much as
    the seen ones are. `numbers` (n,) are nought for rings that do not count.
    """
    seen = numbers > 0
    every = np.arange(1, numbers.max() + 1)
    unseen = every[np.bincount(numbers[seen], minlength=len(every) + 1)[1:] == 0]
    if not len(unseen) or seen.sum() < 2:
        return 0.0
    off = float(np.sqrt((np.square(radii - numbers * pitch)[seen]).sum() / (seen.sum() - 1)))
    return off * float(np.sqrt(unseen @ unseen)) / float(every @ every)


def _ring_drift(
    index: int,
    number: int,
    marks: Marks,
    circle: Circle,
    ideal: Number,
    centre: Place,
    sources: Sources,
    tolerance: float,
) -> RingDrift:
    drift = Number(circle.radius.value - ideal.value, circle.radius.gradient - ideal.gradient)
    drift_u95 = sources.u95(drift)
    off = Place(circle.centre.xy_mm - centre.xy_mm, circle.centre.gradient - centre.gradient)
    ring = marks.rings[index]
    return RingDrift(
        ring=ring,
        number=number,
        radius_mm=circle.radius.value,
        radius_u95_mm=sources.u95(circle.radius),
        roundness_mm=ring.roundness_mm,
        ideal_radius_mm=ideal.value,
        drift_mm=drift.value,
        drift_u95_mm=drift_u95,
        off_centre_mm=float(np.hypot(*off.xy_mm)),
        off_centre_u95_mm=sources.u95_point(off),
        verdict=verdict(drift.value, drift_u95, tolerance),
    )
