"""Small drawings of the page as numbers for SVG: dials, whiskers, beads. Templates draw them."""

import math
from typing import Any

#: All dials are laid out in a box from -24 to 24.
RADIUS, BEAD_RING = 18.0, 18.0


def point(angle_deg: float, radius: float) -> tuple[float, float]:
    """A point at a bearing clockwise from 12 o'clock."""
    a = math.radians(angle_deg)
    return round(radius * math.sin(a), 2), round(-radius * math.cos(a), 2)


def beads(count: int = 12, radius: float = BEAD_RING) -> list[tuple[float, float]]:
    """Beads in a ring, the first at 12 o'clock."""
    return [point(360.0 / count * k, radius) for k in range(count)]


def spoke_dial(ideal_deg: float, move_mm: float) -> dict[str, Any]:
    """The spoke as a hand, and a short arrow along the ring the way its end must go."""
    way = 1 if move_mm > 0 else -1
    return {"hand": point(ideal_deg, 15.0), "arrow": _arc_arrow(ideal_deg, way)}


def petal_dial(ideal_deg: float) -> dict[str, Any]:
    """The ray of a petal, and an arrow along it the way its tip must go."""
    shape = [(9.0, -2.2), (15.0, -2.2), (15.0, -5.5), (22.0, 0.0), (15.0, 5.5), (15.0, 2.2), (9.0, 2.2)]
    along, across = point(ideal_deg, 1.0), point(ideal_deg + 90.0, 1.0)
    turned = [(round(u * along[0] + v * across[0], 2), round(u * along[1] + v * across[1], 2)) for u, v in shape]
    return {"hand": point(ideal_deg, 9.0), "arrow": _path(turned)}


def dot_dial(angle_deg: float, big: bool) -> dict[str, Any]:
    """Where on the panel a dot is too big, or a place is bare."""
    return {"dot": point(angle_deg, 11.0), "big": big}


def ring_dial(drift_mm: float) -> dict[str, Any]:
    """A ring, and an arrow inward or outward."""
    way = 1 if drift_mm < 0 else -1
    tip, foot = 10.0 + 7.0 * way, 10.0 - 3.0 * way
    base = tip - 6.0 * way
    shape = [(foot, -2.2), (base, -2.2), (base, -5.5), (tip, 0.0), (base, 5.5), (base, 2.2), (foot, 2.2)]
    return {"ring": 10.0, "arrow": _path([(y, -x) for x, y in shape])}


def whisker(value_mm: float, u95_mm: float, tolerance_mm: float) -> dict[str, float]:
    """A value with its interval across the grey tolerance, in a box from -40 to 40: the tolerance fills half of it."""
    scale = 18.0 / tolerance_mm

    def along(mm: float) -> float:
        return round(max(-39.0, min(39.0, mm * scale)), 1)

    return {"value": along(value_mm), "low": along(value_mm - u95_mm), "high": along(value_mm + u95_mm), "grey": 18.0}


def _arc_arrow(start_deg: float, way: int) -> str:
    """A filled arrow along the ring of beads, from `start_deg` clockwise (1) or not (-1)."""
    reach, head = 34.0 * way, 22.0 * way
    inner, outer = BEAD_RING - 2.0, BEAD_RING + 2.0
    low, high = BEAD_RING - 5.5, BEAD_RING + 5.5
    steps = [start_deg + head * k / 4 for k in range(5)]
    shape = [point(a, outer) for a in steps]
    shape += [point(start_deg + head, high), point(start_deg + reach, BEAD_RING), point(start_deg + head, low)]
    return _path(shape + [point(a, inner) for a in reversed(steps)])


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) + "Z"
