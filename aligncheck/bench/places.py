"""Places: each phone has one, with a name in a class, and what it photographs: the piece, its size, its spokes."""

import secrets
from dataclasses import dataclass, field

#: Names are for people in one room.
LONGEST_NAME = 40


@dataclass
class Place:
    """One phone's place.

    Attributes
    ----------
    id : str
        Random, in the phone's cookie.
    name : str
        "Place 3" unless its owner gives it one.
    piece : str or None
        The record that its photos can be kept in.
    panel, segments, tolerance_mm : optional
        What its next photo shows.
    """

    id: str
    name: str
    number: int
    piece: str | None = None
    panel: str | None = None
    segments: int | None = None
    tolerance_mm: float | None = None
    jobs: list[str] = field(default_factory=list)


class Places:
    """All places of this run; the oldest without photos go first when there are too many."""

    def __init__(self, most: int):
        self.most = most
        self._places: dict[str, Place] = {}
        self._number = 0

    def get(self, place_id: str | None) -> Place | None:
        """The place of a cookie."""
        return self._places.get(place_id or "")

    def all(self) -> list[Place]:
        """In the order of their numbers."""
        return sorted(self._places.values(), key=lambda p: p.number)

    def new(self, name: str = "", place_id: str | None = None) -> Place:
        """A new place; `place_id` for one of our own, such as the overhead camera's."""
        if len(self._places) >= self.most:
            spare = [p for p in self.all() if not p.jobs] or self.all()
            del self._places[spare[0].id]
        self._number += 1
        place = Place(place_id or secrets.token_urlsafe(16), name or f"Place {self._number}", self._number)
        self._places[place.id] = place
        return place


def clean_name(text: str) -> str:
    """A name as people type it: one line, no invisible signs, not too long."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:LONGEST_NAME]
