"""One piece of advice with what it would bring."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from aligncheck.notes import Note

#: Advice is given where it would take this share off the interval, and the interval is wide enough to matter, mm: below
#: that a tolerance of a millimetre is judged well anyway.
WORTH, MATTERS_MM = 0.2, 0.15


@dataclass(frozen=True)
class Gain:
    """Advice by its `code`: the 95 % half-width now and then, mm, and what else its sentence says."""

    code: str
    now_mm: float
    then_mm: float
    values: Mapping[str, object] = field(default_factory=dict)

    @property
    def share(self) -> float:
        """How much of the interval it takes away."""
        return 1 - self.then_mm / self.now_mm if self.now_mm > 0 else 0.0

    @property
    def worth_it(self) -> bool:
        """Whether to say it."""
        return self.share >= WORTH and self.now_mm >= MATTERS_MM

    def note(self) -> Note:
        """The advice as a remark."""
        # One decimal, two where the first would not tell.
        decimals = 1 if self.then_mm >= 0.25 else 2
        figures = {"now_mm": f"{self.now_mm:.{decimals}f}", "then_mm": f"{self.then_mm:.{decimals}f}"}
        return Note(self.code, {**self.values, **figures})
