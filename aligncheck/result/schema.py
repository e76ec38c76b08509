"""The JSON Schema of the result file, as shipped in the package."""

import json
from typing import Any


def result_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) that every result file fits."""
    # Asked for by few: a check writes results and never loads this.
    from importlib.resources import files

    return dict(json.loads((files("aligncheck.result") / "schema.json").read_text("utf-8")))
