"""A vector PDF drawn in mm: origin at the sheet's top-left corner, x to the right, y down, as everywhere here."""

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

#: One PDF point is 1/72 inch (ISO 32000), an inch 25.4 mm.
POINTS_PER_MM = 72 / 25.4
#: The letters that the overlays use too; they are embedded, so that every printer sets them alike.
FONTS = Path(__file__).parents[1] / "overlay" / "type"
REGULAR, BOLD = "ClearSans-Regular", "ClearSans-Bold"
#: Stands in every PDF's header, so that we know our own files again.
CREATOR = "aligncheck"


class Sheets:
    """A PDF of one or more sheets of one size; all lengths in mm, greys from 0 (black) to 1 (white).

    Parameters
    ----------
    width_mm, height_mm : float
        Of every sheet.
    title : str
    scale : float
        Everything but the sheet itself is drawn so many times larger, about the sheet's top-left corner, to make up
        for a printer's own scale.
    """

    def __init__(self, width_mm: float, height_mm: float, title: str, scale: float = 1.0):
        from reportlab.pdfgen.canvas import Canvas

        _register_fonts()
        self.width_mm, self.height_mm = width_mm, height_mm
        self._buffer = io.BytesIO()
        size = (width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM)
        # Invariant: the same drawing gives the same bytes, whatever the date.
        self._canvas: Any = Canvas(self._buffer, pagesize=size, invariant=1)
        self._canvas.setTitle(title)
        self._canvas.setCreator(CREATOR)
        self._scale = scale
        self._start()

    def _start(self) -> None:
        """Point y down and count in mm."""
        self._canvas.translate(0, self.height_mm * POINTS_PER_MM)
        self._canvas.scale(self._scale * POINTS_PER_MM, -self._scale * POINTS_PER_MM)

    def next_sheet(self) -> None:
        """End this sheet and begin another."""
        self._canvas.showPage()
        self._start()

    @contextmanager
    def window(self, box: Sequence[float], origin: Sequence[float]) -> Iterator[None]:
        """Within it, (0, 0) lies at `origin`, and nothing shows outside the box (left, top, width, height)."""
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(*box)
        self._canvas.clipPath(path, stroke=0, fill=0)
        self._canvas.translate(*origin)
        yield
        self._canvas.restoreState()

    def rectangles(self, boxes: Sequence[Sequence[float]], grey: float = 0.0) -> None:
        """Fill boxes (left, top, width, height) as one shape, so that no hairline shows between neighbours."""
        path = self._canvas.beginPath()
        for left, top, width, height in boxes:
            path.rect(left, top, width, height)
        self._canvas.setFillGray(grey)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def lines(self, paths: Sequence[ArrayLike], width_mm: float, grey: float = 0.0, dash: Sequence[float] = ()) -> None:
        """Stroke paths, each of shape (n, 2), with flat ends."""
        self._canvas.setLineWidth(width_mm)
        self._canvas.setLineCap(0)
        self._canvas.setStrokeGray(grey)
        self._canvas.setDash(list(dash))
        for points in paths:
            first, *others = np.asarray(points, float).tolist()
            path = self._canvas.beginPath()
            path.moveTo(*first)
            for point in others:
                path.lineTo(*point)
            self._canvas.drawPath(path, stroke=1, fill=0)

    def circle(self, x: float, y: float, radius_mm: float, width_mm: float, grey: float = 0.0) -> None:
        """Stroke a circle."""
        self._canvas.setLineWidth(width_mm)
        self._canvas.setStrokeGray(grey)
        self._canvas.setDash([])
        self._canvas.circle(x, y, radius_mm, stroke=1, fill=0)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        height_mm: float,
        bold: bool = False,
        align: Literal["left", "centre", "right"] = "left",
        grey: float = 0.0,
        turn_deg: float = 0.0,
    ) -> None:
        """Write one line of letters of `height_mm` em, its baseline through (x, y), turned clockwise."""
        self._canvas.saveState()
        self._canvas.translate(x, y)
        # Letters stand upright although y points down.
        self._canvas.scale(1, -1)
        self._canvas.rotate(-turn_deg)
        self._canvas.setFont(BOLD if bold else REGULAR, height_mm)
        self._canvas.setFillGray(grey)
        draw = {"left": "drawString", "centre": "drawCentredString", "right": "drawRightString"}[align]
        getattr(self._canvas, draw)(0, 0, words)
        self._canvas.restoreState()

    def pdf(self) -> bytes:
        """The finished file."""
        self._canvas.save()
        return self._buffer.getvalue()


def is_our_pdf(path: Path) -> bool:
    """Whether a file is a PDF that this program wrote and may write again."""
    try:
        content = path.read_bytes()
    except OSError:
        return False
    return content.startswith(b"%PDF") and f"/Creator ({CREATOR})".encode() in content


def _register_fonts() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(FONTS / f"{name}.ttf")))
