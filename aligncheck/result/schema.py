"""The JSON Schema of the result file, as shipped in the package."""

import json
from importlib.resources import files
from typing import Any


def result_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) that every result file fits."""
    return dict(json.loads((files("aligncheck.result") / "schema.json").read_text("utf-8")))
