"""Read the exact truth of a rendered photo (a JSON beside it) into the package's own values."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from aligncheck.lens import Lens
from aligncheck.panel import Panel


def read_truth(path: Path) -> dict[str, Any]:
    """The truth beside the photo `path` (or the JSON itself)."""
    return json.loads(path.with_suffix(".json").read_text())


def true_lens(truth: dict[str, Any]) -> Lens:
    camera = truth["camera"]
    return Lens(camera["f_px"], camera["cx"], camera["cy"], camera.get("k1", 0.0), camera.get("k2", 0.0), "profile")


def true_panel(truth: dict[str, Any]) -> Panel:
    """The panel with its exact map and no uncertainty."""
    p = truth["panel"]
    return Panel.from_corners(
        p["width_mm"],
        p["height_mm"],
        true_lens(truth),
        np.array(truth["corners_px"]),
        corners_mm=np.array(truth["corners_mm"]) if "corners_mm" in truth else None,
    )
