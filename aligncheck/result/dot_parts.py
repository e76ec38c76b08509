"""What painted dots add to the result file."""

from typing import Any

from aligncheck.dots import Arrangement, Dot, DotRing, Dots, Paint, Run
from aligncheck.geometry.angles import bearing
from aligncheck.result.numbers import number, pair


def dots_part(dots: Dots) -> dict[str, Any]:
    """The keys of the dots: all of them, what is amiss, and how they stand together."""
    a = dots.arrangement or Arrangement()
    return {
        "dots": [_dot_part(dots, a, i) for i in range(len(dots.dots))],
        "missing_dots": [
            {
                "centre_mm": pair(gap.centre_mm),
                "diameter_mm": number(gap.diameter_mm),
                "kind": gap.kind,
                "segment": gap.segment,
                **_where(dots, a, gap.kind, gap.centre_mm),
            }
            for gap in dots.missing
        ],
        "misplaced_dots": [
            {
                "centre_mm": pair(dots.dots[one.dot].centre_mm),
                "clockwise_mm": number(one.clockwise_mm),
                "outward_mm": number(one.outward_mm),
                "u95_mm": number(one.u95_mm),
                **_where(dots, a, dots.dots[one.dot].kind, dots.dots[one.dot].centre_mm),
            }
            for one in a.misplaced
        ],
        "merged_dots": [
            {
                "middle_mm": pair(one.middle_mm),
                "ends_mm": [pair(end) for end in one.ends_mm],
                "neck_mm": number(one.neck_mm),
                "usual_neck_mm": number(one.usual_mm),
                **_where(dots, a, one.kinds[0], one.middle_mm),
            }
            for one in a.merged
        ],
        "other_paint_dots": [
            {
                "centre_mm": pair(dots.dots[one.dot].centre_mm),
                "paint": one.paint,
                "usual_paint": one.usual,
                **_where(dots, a, dots.dots[one.dot].kind, dots.dots[one.dot].centre_mm),
            }
            for one in a.other_paint
        ],
        "dot_kinds": [
            {
                "radius_mm": number(kind.radius_mm),
                "diameter_mm": number(kind.diameter_mm),
                "count": kind.count,
                "places": kind.places,
                "on": kind.on,
            }
            for kind in dots.kinds
        ],
        "dot_rings": [_ring_part(ring) for ring in a.rings],
        "dot_runs": [_run_part(run) for run in a.runs],
        "paints": [_paint_part(paint) for paint in a.paints],
    }


def _dot_part(dots: Dots, a: Arrangement, index: int) -> dict[str, Any]:
    dot: Dot = dots.dots[index]
    return {
        "centre_mm": pair(dot.centre_mm),
        "centre_u95_mm": number(dot.centre_u95_mm),
        "diameter_mm": number(dot.diameter_mm),
        "diameter_u95_mm": number(dot.diameter_u95_mm),
        "oversize": dot.oversize,
        "kind": dot.kind,
        "segment": dot.segment,
        "paint": a.paint_of[index] if a.paint_of else None,
        **_where(dots, a, dot.kind, dot.centre_mm),
    }


def _where(dots: Dots, a: Arrangement, kind: int | None, xy_mm: Any) -> dict[str, Any]:
    """Ring by its number, and bearing."""
    ring = a.ring_of(kind) if kind is not None else None
    return {"ring": None if ring is None else ring.number, "angle_deg": number(float(bearing(xy_mm - dots.centre_mm)))}


def _ring_part(ring: DotRing) -> dict[str, Any]:
    return {
        "number": ring.number,
        "radius_mm": number(ring.radius_mm),
        "diameter_mm": number(ring.diameter_mm),
        "count": ring.count,
        "places": ring.places,
        "kinds": list(ring.kinds),
        "gap_mm": number(ring.gap_mm),
        "uneven_mm": number(ring.uneven_mm),
        "closing_gap_mm": number(ring.closing_gap_mm),
        "closing_off_mm": number(ring.closing_off_mm),
        "closing_deg": number(ring.closing_deg),
    }


def _run_part(run: Run) -> dict[str, Any]:
    return {
        "kinds": list(run.kinds),
        "diameters_mm": [number(d) for d in run.diameters_mm],
        "gaps_mm": [number(g) for g in run.gaps_mm],
        "step": number(run.step),
        "uneven_step": number(run.uneven_step),
    }


def _paint_part(paint: Paint) -> dict[str, Any]:
    return {
        "rgb": paint.rgb,
        "lab": [number(v) for v in paint.lab],
        "count": paint.count,
        "name": paint.name,
        "unlike": number(paint.unlike),
    }
