"""What lies over a side or a corner of the panel: a hand, a tool, a piece laid over the edge."""

import cv2
import numpy as np

from aligncheck.centrepiece.core import opened
from aligncheck.centrepiece.overview import Overview
from aligncheck.centrepiece.window import Mask, shaded_distance
from aligncheck.panel.panel_sides import SIDES

#: What covers a side for this length, mm, within this distance from it, mm, reaches over it.
OVER_MM, RIM_MM = 12.0, 2.0


def sides_covered(body: Mask, px_per_mm: float) -> list[str]:
    """Sides of the panel that a solid part reaches over, the most covered first."""
    rim = max(1, round(RIM_MM * px_per_mm))
    strips = (body[:rim], body[:, -rim:], body[-rim:], body[:, :rim])
    area = {side: strip.sum() / px_per_mm**2 for side, strip in zip(SIDES, strips, strict=True)}
    return [s for s in sorted(SIDES, key=lambda s: -area[s]) if area[s] > RIM_MM * OVER_MM]


def reached_over(seen: Overview, darkest: float, unlike: float, solid_mm: float, least_mm2: float) -> list[str]:
    """Sides that anything solid on the panel reaches over, largest part first; two where it lies over a corner.

    Parameters
    ----------
    darkest, unlike, solid_mm : float
        Of what counts as solid: the darkest shade that is shadow, the least distance from the panel's colour, its size.
    least_mm2 : float
        Smaller parts are what the panel's own edge shows.
    """
    window = seen.window
    solid = opened(shaded_distance(window, darkest)[0] > unlike, window.px_per_mm, solid_mm)
    number, labels, stats, _ = cv2.connectedComponentsWithStats(solid.astype(np.uint8), connectivity=4)
    areas = stats[:, cv2.CC_STAT_AREA] / window.px_per_mm**2
    for k in sorted(range(1, number), key=lambda k: -areas[k]):
        if areas[k] < least_mm2:
            break
        sides = sides_covered(labels == k, window.px_per_mm)
        if sides:
            return sides
    return []


def corner_between(sides: list[str]) -> str | None:
    """The corner that two sides share, as people say it; None where they do not meet."""
    if len(sides) != 2 or ("top" not in sides and "bottom" not in sides) or {"top", "bottom"} == set(sides):
        return None
    upper = "top" if "top" in sides else "bottom"
    return f"{upper} {'left' if 'left' in sides else 'right'}"
