"""What the words and the drawings need of a finished check, whatever carries it."""

from typing import Protocol

from aligncheck.drift import Drift
from aligncheck.notes import Note


class Seen(Protocol):
    """A finished check: the differences found, and the remarks that go with them."""

    @property
    def drift(self) -> Drift:
        """Marks against layout."""

    @property
    def notes(self) -> tuple[Note, ...]:
        """Remarks of every stage."""


def chalk_counts(check: Seen) -> bool:
    """Whether spokes and rings are still to be moved: once dots are painted, nobody moves the chalk below them."""
    return getattr(check, "dots", None) is None
