"""The face of all text in the drawings, shipped with the package: Clear Sans, whose 1 7, 3 8 and 6 9 are distinct."""

from functools import lru_cache
from pathlib import Path

from PIL import ImageFont

FOLDER = Path(__file__).parent / "type"

#: Height of a figure over the size of the type in this face; lines are centred by it, not by their descenders.
FIGURE_HEIGHT = 0.69


@lru_cache(maxsize=64)
def face(size_px: float, bold: bool = False) -> ImageFont.FreeTypeFont:
    """The font at `size_px`, regular or bold."""
    name = "ClearSans-Bold.ttf" if bold else "ClearSans-Regular.ttf"
    return ImageFont.truetype(FOLDER / name, size_px)


@lru_cache(maxsize=1024)
def text_width(text: str, size_px: float, bold: bool = False) -> float:
    """Width of `text` in pixels."""
    return float(face(size_px, bold).getlength(text))
