"""The Repeat value: how often a piece repeats about its centre, and where a segment departs from the others."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Repeat:
    """What repeats.

    Attributes
    ----------
    order : int or None
        Number of like segments; None where nothing repeats clearly.
    likeness : float
        Mean correlation of drawing and paint with themselves over all turns of that order, 0 to 1.
    """

    order: int | None
    likeness: float
