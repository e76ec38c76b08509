"""The margins that a drawing truly leaves, straight from what was drawn."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def true_margins(truth: dict[str, Any]) -> Floats:
    """Top, right, bottom, left: from the true sides of the face to the outermost part of the design, mm (4,)."""
    points: list[Floats] = []
    reach: list[float] = []
    for spoke in truth["spokes"]:
        inner, outer = np.array(spoke["inner_mm"]), np.array(spoke.get("extension_outer_mm") or spoke["outer_mm"])
        along = (outer - inner) / np.hypot(*(outer - inner))
        across = np.array([-along[1], along[0]]) * spoke["width_mm"] / 2
        points += [outer + across, outer - across]
        reach += [0.0, 0.0]
    for ring in truth["rings"]:
        points.append(np.array(ring["centre_mm"]))
        reach.append(ring["radius_mm"] + ring["width_mm"] / 2)
    for dot in truth.get("dots", []):
        points.append(np.array(dot["centre_mm"]))
        reach.append(dot["diameter_mm"] / 2)
    corners = np.array(truth["corners_mm"])
    found = []
    for number in range(4):
        start, stop = corners[number], corners[(number + 1) % 4]
        ahead = (stop - start) / np.hypot(*(stop - start))
        clear = (np.array(points) - start) @ np.array([-ahead[1], ahead[0]]) - np.array(reach)
        found.append(float(clear.min()))
    return np.array(found)
