"""Painted dots: where they are, how big, and which are missing or too big."""

from typing import TYPE_CHECKING

from aligncheck.dots.arrangement import Arrangement, DotRing, Merged, Misplaced, OtherPaint, Paint, Run
from aligncheck.dots.dots import Dot, Dots, Kind, MissingDot
from aligncheck.on_demand import on_demand

if TYPE_CHECKING:
    from aligncheck.dots.arrange import with_names
    from aligncheck.dots.beside import marks_beside
    from aligncheck.dots.find import find_dots
    from aligncheck.dots.paints import read_paints

__getattr__ = on_demand(
    __name__, {"find_dots": "find", "marks_beside": "beside", "read_paints": "paints", "with_names": "arrange"}
)

__all__ = [
    "Arrangement", "Dot", "DotRing", "Dots", "Kind", "Merged", "Misplaced", "MissingDot", "OtherPaint", "Paint", "Run",
    "find_dots", "marks_beside", "read_paints", "with_names",
]  # fmt: skip
