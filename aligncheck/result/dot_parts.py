"""What painted dots add to the result file."""

from typing import Any

from aligncheck.dots import Dot, Dots
from aligncheck.result.numbers import number, pair


def dots_part(dots: Dots) -> dict[str, Any]:
    """The keys of the dots: all of them, the missing ones, and their kinds."""
    return {
        "dots": [_dot_part(dot) for dot in dots.dots],
        "missing_dots": [
            {
                "centre_mm": pair(gap.centre_mm),
                "diameter_mm": number(gap.diameter_mm),
                "kind": gap.kind,
                "segment": gap.segment,
            }
            for gap in dots.missing
        ],
        "dot_kinds": [
            {
                "radius_mm": number(kind.radius_mm),
                "diameter_mm": number(kind.diameter_mm),
                "count": kind.count,
                "places": kind.places,
            }
            for kind in dots.kinds
        ],
    }


def _dot_part(dot: Dot) -> dict[str, Any]:
    return {
        "centre_mm": pair(dot.centre_mm),
        "centre_u95_mm": number(dot.centre_u95_mm),
        "diameter_mm": number(dot.diameter_mm),
        "diameter_u95_mm": number(dot.diameter_u95_mm),
        "oversize": dot.oversize,
        "kind": dot.kind,
        "segment": dot.segment,
    }
