"""Painted dots: where they are, how big, and which are missing or too big."""

from typing import TYPE_CHECKING

from aligncheck.dots.dots import Dot, Dots, Kind, MissingDot
from aligncheck.on_demand import on_demand

if TYPE_CHECKING:
    from aligncheck.dots.find import find_dots

__getattr__ = on_demand(__name__, {"find_dots": "find"})

__all__ = ["Dot", "Dots", "Kind", "MissingDot", "find_dots"]
