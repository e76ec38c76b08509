"""Stages' result files, read back; of older versions and newer keys whatever is there."""

import json
from collections.abc import Mapping
from typing import Any

from aligncheck.record.record import Record
from aligncheck.record.stage import Stage


def read_result(record: Record, stage: Stage) -> dict[str, Any] | None:
    """The figures of a stage; None where it was not measured, or its file is missing or damaged."""
    name = stage.file(".json")
    if name is None:
        return None
    try:
        found = json.loads(record.path(stage, name).read_bytes())
        # What the rest relies on; a file without it is damaged.
        _ = found["panel"]["width_mm"], found["panel"]["corner_u95_mm"], found["spokes"], found["rings"]
        _ = found["centre"]["x_mm"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return dict(found)


def worst_spoke_mm(result: Mapping[str, Any]) -> float | None:
    """The largest move of all spokes, without its sign."""
    moves = [abs(s["move_mm"]) for s in result["spokes"] if s.get("move_mm") is not None]
    return max(moves, default=None)
