"""The signs of the legend, drawn as they are in the picture. A layer may bring its own."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from aligncheck.overlay import shapes
from aligncheck.overlay.arrows import draw_hollow, draw_solid, hollow_arrow_outline, solid_arrow_outline
from aligncheck.overlay.canvas import DRAWN_OFF, SPOKE_PLAN, Canvas
from aligncheck.overlay.view import Style


class Sign(NamedTuple):
    """A sign `width` q wide; `draw` takes canvas, left end and middle height (px), width (px) and style."""

    width: float
    draw: Callable[[Canvas, float, float, float, Style], None]


def _across(x: float, y: float, width: float) -> list[list[float]]:
    """A level line."""
    return [[x, y], [x + width / 2, y], [x + width, y]]


def _bead(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.bead((x + width / 2, y))


def _arrow(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    draw_solid(canvas, solid_arrow_outline(np.array(_across(x, y, width)), canvas.q))


def _hollow(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    draw_hollow(canvas, hollow_arrow_outline(np.array(_across(x, y, width)), canvas.q))


def _drawn(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_across(x, y, width), DRAWN_OFF)


def _plan(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_across(x, y, width), SPOKE_PLAN)


def _sure(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    """A whisker: wherever it stands it means "sure to"."""
    colour, high = style.theme.text, 4.5 * canvas.q
    canvas.stroke(_across(x, y, width), 1.5, colour)
    for end in (x, x + width):
        canvas.stroke([[end, y - high], [end, y + high]], 1.5, colour)


def _tolerance(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    """A band about the plan."""
    box = shapes.rounded((x, y - 4 * canvas.q, x + width, y + 4 * canvas.q), 1.0)
    canvas.fill([box], style.theme.quiet)
    canvas.fill(
        [shapes.ribbon([[x + width / 2, y - 6 * canvas.q], [x + width / 2, y + 6 * canvas.q]], 1.6 * canvas.q)],
        style.theme.text,
    )


def _more(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    for k in range(3):
        canvas.fill([shapes.circle((x + width * (1 + 2 * k) / 6, y), 1.5 * canvas.q)], style.theme.text)


BEAD_SIGN = Sign(8.0, _bead)
ARROW_SIGN = Sign(24.0, _arrow)
DRAWN_SIGN = Sign(22.0, _drawn)
PLAN_SIGN = Sign(21.4, _plan)
HOLLOW_SIGN = Sign(22.0, _hollow)
SURE_SIGN = Sign(20.0, _sure)
TOLERANCE_SIGN = Sign(22.0, _tolerance)
MORE_SIGN = Sign(15.0, _more)
