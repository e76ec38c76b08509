"""What later stages add to the result file: petals and the repeat."""

from typing import Any

from aligncheck.repeat import Repeat
from aligncheck.result.numbers import number, pair
from aligncheck.rows import Petal, Rows


def petals_part(rows: Rows) -> list[dict[str, Any]]:
    """All petals, row after row from the inside out, each row clockwise."""
    return [_petal_part(petal) for petal in rows.petals]


def _petal_part(petal: Petal) -> dict[str, Any]:
    return {
        "row": petal.row,
        "segment": petal.segment,
        "tip_mm": pair(petal.tip_mm),
        "tip_u95_mm": number(petal.tip_u95_mm),
        "radius_mm": number(petal.radius_mm),
        "angle_deg": number(petal.angle_deg),
        "ideal_radius_mm": number(petal.ideal_radius_mm),
        "ideal_deg": number(petal.ideal_deg),
        "inward_mm": number(petal.inward_mm),
        "inward_u95_mm": number(petal.inward_u95_mm),
        "aside_mm": number(petal.aside_mm),
        "aside_u95_mm": number(petal.aside_u95_mm),
        "base_mm": [pair(p) for p in petal.base_mm],
        "width_mm": number(petal.width_mm),
        "balance_mm": number(petal.balance_mm),
        "short": petal.short,
    }


def petal_rows_part(rows: Rows) -> list[dict[str, Any]]:
    """What the petals of each row have in common."""
    return [
        {
            "number": row.number,
            "place": row.place,
            "tip_radius_mm": number(row.tip_radius_mm),
            "tip_radius_u95_mm": number(row.tip_radius_u95_mm),
            "edge_mm": number(row.edge_mm),
            "edge_u95_mm": number(row.edge_u95_mm),
            "edge_side": row.edge_side,
            "tip_spread_mm": number(row.tip_spread_mm),
        }
        for row in rows.rows
    ]


def repeat_part(repeat: Repeat) -> dict[str, Any]:
    """How often it repeats, how well, and where it does not."""
    return {
        "order": repeat.order,
        "likeness": number(repeat.likeness),
        "colour_order": repeat.colour_order,
        "edge_mm": number(repeat.edge_mm),
        "colour": number(repeat.colour),
        "left_out": list(repeat.left_out),
        "mirror_likeness": number(repeat.mirror_likeness),
        "mirror_deg": number(repeat.mirror_deg),
        "glare_share": number(repeat.glare_share),
        "glare_deg": None if repeat.glare_deg is None else [number(a) for a in repeat.glare_deg],
        "one_sided": [
            {
                "radius_mm": number(one.radius_mm),
                "off_axis_deg": number(one.off_axis_deg),
                "area_mm2": number(one.area_mm2),
                "colour": number(one.colour),
            }
            for one in repeat.one_sided
        ],
        "departures": [
            {
                "segment": one.segment,
                "place_mm": pair(one.place_mm),
                "radius_mm": number(one.radius_mm),
                "angle_deg": number(one.angle_deg),
                "area_mm2": number(one.area_mm2),
                "colour": number(one.colour),
                "paint": one.paint,
            }
            for one in repeat.departures
        ],
    }
