"""Published figures, each file with its publication."""

import json
from pathlib import Path
from typing import Any


def published(name: str) -> dict[str, Any]:
    """The figures of `data/<name>.json`."""
    return json.loads((Path(__file__).parent / "data" / f"{name}.json").read_text())
