"""Stages' result files, read back; of older versions and newer keys whatever is there."""

import json
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
