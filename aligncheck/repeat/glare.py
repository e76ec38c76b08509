"""How much of the painting glare hides, and where."""

import numpy as np

from aligncheck.repeat.consensus import Segments

#: Directions in which less than this share of the painting is hidden count as clear.
HIDDEN = 0.1


def glare_of(segments: Segments) -> tuple[float, tuple[float, float] | None]:
    """Share of the painting that glare hides, and from where to where it lies, degrees clockwise; None where none does.

    The painting is what most segments show; its places count by their area.
    """
    area = segments.radii_mm[:, None, None] * (segments.painted[:, None] & segments.finished[:, None])
    total = area.sum(0)
    hidden = (area * segments.glare).sum(0)
    share = float(hidden.sum() / max(float(total.sum()), 1e-9))
    around = (hidden > HIDDEN * np.maximum(total, 1e-9)).ravel()
    if share <= 0 or not around.any():
        return share, None
    return share, _span(around, hidden.ravel(), segments.columns_deg)


def _span(on: np.ndarray, weight: np.ndarray, step_deg: float) -> tuple[float, float]:
    """The shortest span that holds nine tenths of what is hidden."""
    n = len(on)
    twice = np.concatenate([[0.0], np.cumsum(np.tile(weight * on, 2))])
    wanted = 0.9 * twice[n]
    stops = np.searchsorted(twice, twice[:n] + wanted)
    start = int((stops - np.arange(n)).argmin())
    return float(start * step_deg % 360), float(stops[start] * step_deg % 360)
