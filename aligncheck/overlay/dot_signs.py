"""The signs that stand for dots in the legend."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.overlay.canvas import DRAWN_OFF, Canvas, Pen
from aligncheck.overlay.colours import PLAN
from aligncheck.overlay.signs import BEAD_SIGN, Sign
from aligncheck.overlay.view import Style
from aligncheck.words.dots import BIG_NAME, MERGED_NAME, MISSING_NAME, OFF_NAME, OTHER_NAME

Floats = NDArray[np.float64]

#: Finely dashed, so that so small a circle is still round.
DASHED = Pen(1.4, 3.0, PLAN, dash=(3.4, 2.9))
RADIUS = 4.5


def _around(x: float, y: float, radius: float) -> Floats:
    return np.array([x, y]) + radius * outward(np.arange(0.0, 360.0, 10.0))


def _missing(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_around(x + width / 2, y, RADIUS * canvas.q), DASHED, closed=True)


def _big(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_around(x + width / 2, y, RADIUS * canvas.q), DRAWN_OFF, closed=True)


def _off(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_around(x + 0.68 * width, y, RADIUS * canvas.q), DASHED, closed=True)
    canvas.line(_around(x + 0.32 * width, y, RADIUS * canvas.q), DRAWN_OFF, closed=True)


def _merged(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    canvas.line(_around(x + width / 2, y, (RADIUS + 1.5) * canvas.q), DRAWN_OFF, closed=True)
    for share in (0.38, 0.62):
        canvas.fill([_around(x + share * width, y, 1.7 * canvas.q)], style.theme.text)


def _other(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    canvas.line(_around(x + width / 2, y, RADIUS * canvas.q), DRAWN_OFF, closed=True)
    canvas.fill([_around(x + width / 2, y, 1.8 * canvas.q)], style.theme.text)


FIT_SIGN = BEAD_SIGN
SIGNS = {
    MISSING_NAME: Sign(13.0, _missing),
    BIG_NAME: Sign(13.0, _big),
    OFF_NAME: Sign(22.0, _off),
    MERGED_NAME: Sign(15.0, _merged),
    OTHER_NAME: Sign(13.0, _other),
}
