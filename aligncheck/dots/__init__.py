"""Painted dots: where they are, how big, and which are missing or too big."""

from aligncheck.dots.dots import Dot, Dots, Kind, MissingDot
from aligncheck.dots.find import find_dots

__all__ = ["Dot", "Dots", "Kind", "MissingDot", "find_dots"]
