"""A finished check: everything that one photo says about its panel."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aligncheck.drift import Drift
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.words.seen import chalk_counts

if TYPE_CHECKING:
    # Most photos show marks alone: then none of these is loaded.
    from aligncheck.centrepiece import Centrepiece
    from aligncheck.dots import Dots
    from aligncheck.margin import Margin
    from aligncheck.placement import Placement
    from aligncheck.repeat import Repeat
    from aligncheck.rows import Rows


@dataclass(frozen=True)
class Check:
    """Everything that one photo says about its panel.

    Attributes
    ----------
    photo : Photo
    panel : Panel
    marks : Marks
    drift : Drift
    stage : str
        The latest stage that the photo shows: ``marked``, ``arranged``, ``rows`` or ``painted``.
    notes : tuple of Note
        What the painter should know, from all stages.
    centrepiece : Centrepiece or None
        What lies on the panel.
    placement : Placement or None
        How that was moved since an earlier photo, where one was named.
    rows : Rows or None
        Petals traced on it.
    repeat : Repeat or None
        How often it repeats, from the stage ``rows`` on.
    dots : Dots or None
        Dots painted on it.
    margin : Margin or None
        What is clear on each side of the design, where that was asked for.
    """

    photo: Photo
    panel: Panel
    marks: Marks
    drift: Drift
    stage: str = "marked"
    notes: tuple[Note, ...] = ()
    centrepiece: "Centrepiece | None" = None
    placement: "Placement | None" = None
    rows: "Rows | None" = None
    repeat: "Repeat | None" = None
    dots: "Dots | None" = None
    margin: "Margin | None" = None

    @property
    def out(self) -> bool:
        """Whether anything is to mend: a spoke or ring, a petal that is short, a dot that is missing or too big."""
        verdicts = [s.verdict for s in self.drift.spokes] + [r.verdict for r in self.drift.rings]
        marks = "out" in verdicts and chalk_counts(self)
        petals = self.rows is not None and bool(self.rows.short)
        dots = self.dots is not None and bool(self.dots.missing or self.dots.oversize)
        return marks or petals or dots

    def called(self, otherwise: str) -> str:
        """The photo's file name, or `otherwise` where it came from no file."""
        return self.photo.path.name if self.photo.path else otherwise
