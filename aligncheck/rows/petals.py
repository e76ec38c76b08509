"""The Rows value: what was traced, petal by petal."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note
from aligncheck.panel.panel_sides import SideName

Floats = NDArray[np.float64]
Place = Literal["on spokes", "beside spokes", "between spokes"]

#: A petal is short if its tip lies this far inside the median tip of its row, mm, unless told otherwise.
SHORT_MM = 4.5


@dataclass(frozen=True)
class Petal:
    """One petal. Lengths in mm, angles in degrees clockwise from 12 o'clock, about the centre of the marks.

    Attributes
    ----------
    row, segment : int
        Row from the inside out, from 1; place in the row clockwise from the first spoke, from 1.
    tip_mm : ndarray (2,)
        Where both sides end.
    tip_u95_mm : float
    radius_mm, angle_deg : float
        Of the tip.
    ideal_radius_mm, ideal_deg : float
        Of its place: the row's median tip, and the spoke or the ray halfway between two.
    inward_mm, aside_mm : float
        How far the tip lies inside its row, and to the clockwise side of its ray.
    inward_u95_mm, aside_u95_mm : float
    base_mm : ndarray (2, 2)
        Where the clockwise and the other side begin.
    width_mm : float
        Largest width across its axis.
    balance_mm : float
        How much farther its clockwise side bows out than the other.
    short : bool
    """

    row: int
    segment: int
    tip_mm: Floats
    tip_u95_mm: float
    radius_mm: float
    angle_deg: float
    ideal_radius_mm: float
    ideal_deg: float
    inward_mm: float
    inward_u95_mm: float
    aside_mm: float
    aside_u95_mm: float
    base_mm: Floats
    width_mm: float
    balance_mm: float
    short: bool
    outline_mm: Floats


@dataclass(frozen=True)
class Row:
    """One row.

    Attributes
    ----------
    number : int
        From the inside out, from 1.
    tip_radius_mm, tip_radius_u95_mm : float
        Median of its tips.
    place : str
        Where the petals' axes lie; beside spokes is a quarter of a segment from one.
    edge_mm : float
        From the tip that comes closest to one of the panel's sides to that side.
    petals : tuple of Petal
        Clockwise.
    edge_u95_mm : float or None
    edge_side : str or None
        Which side that is.
    edge_segment : int or None
        Which petal that is.
    tip_spread_mm : float or None
        How even the tips are: their standard deviation without the short ones.
    """

    number: int
    tip_radius_mm: float
    tip_radius_u95_mm: float
    place: Place
    edge_mm: float
    petals: tuple[Petal, ...]
    edge_u95_mm: float | None = None
    edge_side: SideName | None = None
    edge_segment: int | None = None
    tip_spread_mm: float | None = None


@dataclass(frozen=True)
class Rows:
    """All rows from the inside out."""

    rows: tuple[Row, ...]
    short_mm: float = SHORT_MM
    notes: tuple[Note, ...] = ()

    @property
    def petals(self) -> tuple[Petal, ...]:
        """All petals, row after row."""
        return tuple(petal for row in self.rows for petal in row.petals)

    @property
    def short(self) -> tuple[Petal, ...]:
        """The petals that are short, the shortest first."""
        return tuple(sorted((p for p in self.petals if p.short), key=lambda p: -p.inward_mm))
