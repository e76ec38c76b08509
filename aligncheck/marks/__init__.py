"""What is drawn on the panel, in panel mm: centre mark, spokes, rings, construction diagonals."""

from aligncheck.marks.find import find_marks
from aligncheck.marks.marks import Centre, Line, Marks, Ring, Spoke, Waves

__all__ = ["Centre", "Line", "Marks", "Ring", "Spoke", "Waves", "find_marks"]
