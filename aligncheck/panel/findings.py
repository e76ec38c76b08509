"""What a search has turned up."""

from dataclasses import dataclass, field

from aligncheck.panel.candidates import Candidate
from aligncheck.panel.outlines import Outline
from aligncheck.panel.segments import Lines
from aligncheck.panel.wheel import Wheel


@dataclass
class Findings:
    """What a search has turned up so far, for the choice and for the words of a refusal."""

    outlines: list[Outline] = field(default_factory=list)
    candidates: list[Candidate] = field(default_factory=list)
    pool: Lines | None = None
    wheels: list[Wheel] | None = None

    @property
    def best(self) -> Candidate | None:
        """The most trusted candidate."""
        return max(self.candidates, key=lambda c: c.trust, default=None)
