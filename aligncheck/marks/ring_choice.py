"""Which candidates are rings? Those drawn as strongly as the others, or standing where the spacing asks for one."""

from dataclasses import dataclass

import numpy as np

from aligncheck.marks.ring_fit import RingPath


@dataclass(frozen=True)
class Quality:
    """How a candidate was drawn.

    Attributes
    ----------
    strength : float
        Mean chalk over its free rows, each cut at a full row: 1 for an unbroken ring of the usual stroke.
    coverage : float
        Share of its free rows that carry chalk in line with the path.
    seen : float
        Share of the whole circle that is free of crossings and inside the panel.
    """

    strength: float
    coverage: float
    seen: float


def quality(path: RingPath) -> Quality:
    """Judge a fitted candidate."""
    rows, free = path.rows, path.free
    if rows is None or free is None or free.sum() < 10:
        return Quality(0.0, 0.0, 0.0)
    in_line = np.abs(rows.offset_mm) < 0.6
    chalk = np.clip(rows.amplitude, -0.2, 1.0) * np.where(in_line, 1.0, 0.3)
    return Quality(
        float(chalk[free].mean()), float((in_line & (rows.amplitude > 0.3))[free].mean()), float(free.mean())
    )


def choose_rings(paths: list[RingPath]) -> list[RingPath]:
    """The rings among the candidates, from the inside out."""
    return sorted((p for p in paths if quality(p).strength > 0.2), key=lambda p: p.radius_mm)
