"""The Dots value: every painted dot, what is missing, and what is too big."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Centre
from aligncheck.notes import Note

if TYPE_CHECKING:
    from aligncheck.dots.arrangement import Arrangement

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Dot:
    """One painted dot, a circle on the panel's face.

    Attributes
    ----------
    centre_mm : ndarray (2,)
        In the panel frame.
    centre_u95_mm, diameter_mm, diameter_u95_mm : float
    kind : int or None
        Which of `Dots.kinds` it is of; None for a dot that has no like in the other segments.
    segment : int
        The segment it lies in, counted clockwise from the first place of its kind after 12 o'clock.
    oversize : bool
    colour : ndarray (3,)
        How it differs from the bare panel: luma and two colour differences, in sRGB codes.
    """

    centre_mm: Floats
    centre_u95_mm: float
    diameter_mm: float
    diameter_u95_mm: float
    kind: int | None
    segment: int
    oversize: bool
    colour: Floats


@dataclass(frozen=True)
class MissingDot:
    """A place (2,) in the panel frame that is bare, where the other segments have a dot of `diameter_mm`."""

    centre_mm: Floats
    diameter_mm: float
    kind: int
    segment: int


@dataclass(frozen=True)
class Kind:
    """Dots that are one another's like in the segments: how far out, their median size, and how many of how many.

    `on`: the kind whose dots they are set on; None on the panel.
    """

    radius_mm: float
    diameter_mm: float
    count: int
    places: int
    on: int | None = None


@dataclass(frozen=True)
class Dots:
    """All dots of a panel.

    `order` is how often the design repeats in a turn, `arrangement` how they stand together, `turning_point` what they
    turn about (its covariance their own, without the panel's map); None where no kind tells.
    """

    dots: tuple[Dot, ...]
    missing: tuple[MissingDot, ...]
    kinds: tuple[Kind, ...]
    order: int
    centre_mm: Floats
    notes: tuple[Note, ...] = field(default=())
    arrangement: "Arrangement | None" = None
    turning_point: Centre | None = None

    @property
    def oversize(self) -> tuple[Dot, ...]:
        """Those that are too big."""
        return tuple(d for d in self.dots if d.oversize)

    @property
    def covered(self) -> Floats:
        """The share of each dot's radius within which dots on top cover it, 0 where none does."""
        share = np.zeros(len(self.kinds) + 1)
        for kind in self.kinds:
            if kind.on is not None:
                share[kind.on] = max(share[kind.on], kind.diameter_mm / self.kinds[kind.on].diameter_mm)
        # The last is for dots of no kind.
        return share[[-1 if d.kind is None else d.kind for d in self.dots]]

    @property
    def faulty(self) -> bool:
        """Whether any is missing, too big, off its place, run together with another, or of another paint."""
        a = self.arrangement
        return bool(self.missing or self.oversize or (a and (a.misplaced or a.merged or a.other_paint)))
