"""Read the exact truth of a rendered photo (a JSON beside it) into the package's own values."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks, Ring, Spoke
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


def true_marks(truth: dict[str, Any], panel: Panel | None = None, own_sd_mm: float = 0.02) -> Marks:
    """The marks exactly where they were drawn, each number claimed to be good to `own_sd_mm`."""
    own = own_sd_mm**2
    spokes = []
    for place, s in enumerate(truth["spokes"]):
        inner = np.array(s["inner_mm"], float)
        outer = np.array(s.get("extension_outer_mm", s["outer_mm"]), float)
        along = (own_sd_mm * 5, own_sd_mm * 5)
        spokes.append(Spoke(inner, outer, own * np.eye(2), s.get("width_mm", 1.0), along, place=place))
    rings = [
        Ring(np.array(r["centre_mm"], float), r["radius_mm"], own * np.eye(3), r.get("width_mm", 1.0))
        for r in truth.get("rings", [])
    ]
    centre = Centre(np.array(truth["centre_mark_mm"], float), own * np.eye(2), "mark")
    return Marks(
        panel=panel or true_panel(truth),
        centre=centre,
        spokes_meet=None,
        segments=truth["segments"],
        spokes=tuple(sorted(spokes, key=lambda s: s.angle_deg)),
        rings=tuple(sorted(rings, key=lambda r: r.radius_mm)),
    )
