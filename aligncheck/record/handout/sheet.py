"""A handout's sheet: what `paper` draws, and pictures and running text besides."""

import io
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.fitting import letters_that_fit
from aligncheck.paper.page import BOLD, REGULAR, Sheets
from aligncheck.result.write import as_jpeg

WIDTH_MM, HEIGHT_MM, MARGIN_MM = 210.0, 297.0, 16.0
#: From one line to the next, in letter heights.
LEADING = 1.28


class Sheet(Sheets):
    """An A4 sheet in mm from its top left corner, y down."""

    def __init__(self, title: str):
        super().__init__(WIDTH_MM, HEIGHT_MM, title)

    def picture(self, x: float, y: float, width: float, height: float, rgb: NDArray[np.uint8]) -> None:
        """A picture with its top left corner at (x, y)."""
        from reportlab.lib.utils import ImageReader

        self._canvas.saveState()
        self._canvas.translate(x, y + height)
        self._canvas.scale(1, -1)
        self._canvas.drawImage(ImageReader(io.BytesIO(as_jpeg(rgb))), 0, 0, width, height)
        self._canvas.restoreState()

    def paragraph(
        self, x: float, y: float, words: str, height_mm: float, width: float, bold: bool = False, most: int = 99
    ) -> float:
        """Text broken into lines of at most `width`, its first baseline a letter below y; where it ends."""
        lines = broken(words, height_mm, width, bold)
        if len(lines) > most:
            lines = [*lines[: most - 1], lines[most - 1].rstrip(".,;") + " …"]
        for line in lines:
            self.text(x, y + height_mm, line, height_mm, bold=bold)
            y += LEADING * height_mm
        return y

    def items(self, x: float, y: float, title: str, lines: Sequence[str], width: float) -> float:
        """A heading with a list below it; where it ends."""
        y = self.paragraph(x, y, title, 4.2, width, bold=True) + 1.0
        for line in lines:
            self.text(x, y + 3.6, "·", 3.6, bold=True)
            y = self.paragraph(x + 3.5, y, line, 3.6, width - 3.5) + 0.6
        return y + 4.0


def broken(words: str, height_mm: float, width: float, bold: bool = False) -> list[str]:
    """Words in lines of at most `width`; one longer than a line is cut."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    def fits(text: str) -> bool:
        return bool(stringWidth(text, BOLD if bold else REGULAR, height_mm) <= width)

    lines, line = [], ""
    for word in words.split():
        while not fits(word) and len(word) > 1:
            keep = max(1, letters_that_fit(word, fits))
            if line:
                lines.append(line)
                line = ""
            lines.append(word[:keep])
            word = word[keep:]
        longer = f"{line} {word}".strip()
        if line and not fits(longer):
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line] if line else lines
