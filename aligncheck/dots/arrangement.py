"""The Arrangement value: how dots stand to one another, in rings and in walked runs, and which stand amiss."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DotRing:
    """Dots of one size at one distance from the centre.

    Attributes
    ----------
    number : int
        From the inside out, from 1.
    kinds : tuple of int
        Which of `Dots.kinds` stand on it: one, or a pair to both sides of a spoke.
    radius_mm, diameter_mm : float
        Medians.
    count, places : int
        How many dots, of how many there should be.
    gap_mm : float or None
        Clear between neighbours, median; negative where they overlap.
    uneven_mm : float or None
        Standard deviation of the gaps from their like in the other segments.
    closing_gap_mm, closing_off_mm, closing_deg : float or None
        The gap that is most unlike its like: its width, how much wider (positive) or narrower it is, and where.
    """

    number: int
    kinds: tuple[int, ...]
    radius_mm: float
    diameter_mm: float
    count: int
    places: int
    gap_mm: float | None = None
    uneven_mm: float | None = None
    closing_gap_mm: float | None = None
    closing_off_mm: float | None = None
    closing_deg: float | None = None


@dataclass(frozen=True)
class Run:
    """A walked run: dots that diminish along a curve, once in every segment.

    Attributes
    ----------
    kinds : tuple of int
        Which of `Dots.kinds`, the largest first.
    diameters_mm : tuple of float
    gaps_mm : tuple of float
        Clear between one dot and the next.
    step : float
        Each dot is about this share of the one before it.
    uneven_step : float
        The largest departure from that, as a share of a dot.
    places_mm : ndarray (dots, 2)
        One of its N like, from the centre.
    """

    kinds: tuple[int, ...]
    diameters_mm: tuple[float, ...]
    gaps_mm: tuple[float, ...]
    step: float
    uneven_step: float
    places_mm: Floats


@dataclass(frozen=True)
class Misplaced:
    """A dot off its place: `dot` is its index; how far it lies clockwise and outward, mm, with the interval of both."""

    dot: int
    clockwise_mm: float
    outward_mm: float
    u95_mm: float


@dataclass(frozen=True)
class Merged:
    """Two neighbours that have run together, each by kind and place; `middle_mm` (2,) in the panel frame.

    `neck_mm` is how wide paint lies between them, `usual_mm` how wide between their like.
    """

    kinds: tuple[int, int]
    middle_mm: Floats
    ends_mm: Floats
    neck_mm: float
    usual_mm: float


@dataclass(frozen=True)
class Paint:
    """Dots of one colour.

    Attributes
    ----------
    lab : ndarray (3,)
        CIELAB as the photo shows it, light evened out.
    rgb : str
        The same as "#rrggbb".
    count : int
    name : str or None
        From the painter's list of paints.
    unlike : float or None
        CIEDE2000 difference from that paint, after what the light does to all paints alike.
    """

    lab: Floats
    rgb: str
    count: int
    name: str | None = None
    unlike: float | None = None


@dataclass(frozen=True)
class OtherPaint:
    """A dot (its index) in another paint than its like have: the numbers of both in `Arrangement.paints`."""

    dot: int
    paint: int
    usual: int


@dataclass(frozen=True)
class Arrangement:
    """How the dots of one panel stand to one another.

    Attributes
    ----------
    rings : tuple of DotRing
        From the inside out.
    runs : tuple of Run
        The longest first.
    misplaced : tuple of Misplaced
        The farthest first.
    merged : tuple of Merged
    paints : tuple of Paint
        The most used first.
    paint_of : tuple of int
        Of each dot in `Dots.dots`, its paint.
    other_paint : tuple of OtherPaint
    """

    rings: tuple[DotRing, ...] = ()
    runs: tuple[Run, ...] = ()
    misplaced: tuple[Misplaced, ...] = ()
    merged: tuple[Merged, ...] = ()
    paints: tuple[Paint, ...] = ()
    paint_of: tuple[int, ...] = ()
    other_paint: tuple[OtherPaint, ...] = ()

    def ring_of(self, kind: int | None) -> DotRing | None:
        """The ring that a kind of dots stands on."""
        return next((ring for ring in self.rings if kind in ring.kinds), None)


#: Which fault a dot has, in the order in which they are told.
Fault = Literal["missing", "oversize", "merged", "misplaced", "other_paint"]
