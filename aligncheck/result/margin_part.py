"""The margin round the design as the result file has it."""

from typing import Any

from aligncheck.margin import Margin
from aligncheck.margin.frame import beside_frame, verdict
from aligncheck.result.numbers import number, pair


def margin_part(margin: Margin) -> dict[str, Any]:
    """Each side's margin with its interval, then what reaches there and what a frame would do to it."""
    rebate = margin.rebate_mm
    sides = [
        {
            "side": side.side,
            "by": side.by,
            "point_mm": pair(side.point_mm),
            "beside_frame_mm": None if rebate is None else number(beside_frame(side, rebate)),
            "frame": None if rebate is None else verdict(side, rebate),
        }
        for side in margin.sides
    ]
    return {
        **{f"{side.side}_mm": number(side.margin_mm) for side in margin.sides},
        **{f"{side.side}_u95_mm": number(side.u95_mm) for side in margin.sides},
        "off_middle_mm": pair(margin.off_middle_mm),
        "off_middle_u95_mm": pair(margin.off_middle_u95_mm),
        "rebate_mm": number(rebate),
        "sides": sides,
    }
