"""The outlines of the verdicts, told apart in black alone: beads round a tick, arrow, dashed diamond, square, dots."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay import shapes
from aligncheck.overlay.canvas import Canvas, Lettering, Pen
from aligncheck.overlay.colours import INK, MOVE, RGB
from aligncheck.overlay.view import Style
from aligncheck.words.summary import Kind

Floats = NDArray[np.float64]

#: The outlines are laid out in a box from -1 to 1; this is half its side in q.
HALF = 15.0


def draw_icon(canvas: Canvas, kind: Kind, middle: tuple[float, float], style: Style) -> None:
    """Draw the outline of a verdict about `middle` (px)."""
    scale = HALF * canvas.q
    here = np.array(middle)
    draw = {
        "move": _bent_arrow,
        "fits": _beads_round_tick,
        "unsure": _diamond,
        "refused": _square,
        "piece": _circle,
        "dots": _dots,
    }[kind]
    draw(canvas, here, scale, style.theme.text)


def _bent_arrow(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """A move: from a bead along an arc."""
    a = np.radians(np.linspace(-74, 26, 33))
    arc = here + scale * (np.column_stack([np.sin(a), -np.cos(a)]) * 1.15 + (0.2, 0.55))
    outline = shapes.arrow(arc, 0.46 * scale, 0.8 * scale, 1.15 * scale)
    canvas.solid(outline, MOVE, 1.2)
    canvas.bead(arc[0], 0.17 * HALF, colour, INK)


def _beads_round_tick(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """All fits: twelve beads, one for each clock position."""
    for k in range(12):
        a = np.radians(30 * k)
        canvas.fill([shapes.circle(here + 0.88 * scale * np.array([np.sin(a), -np.cos(a)]), 0.15 * scale)], colour)
    canvas.stroke(here + scale * np.array([[-0.36, 0.04], [-0.1, 0.3], [0.4, -0.28]]), 0.2 * HALF, colour)


def _diamond(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """Too close to call."""
    corners = here + scale * np.array([[0, -1], [1, 0], [0, 1], [-1, 0], [0, -1]])
    canvas.fill(shapes.dashes(corners, 4.4 * canvas.q, 2.6 * canvas.q, 1.8 * canvas.q), colour)
    canvas.text(Lettering((float(here[0]), float(here[1])), "?", 1.1 * HALF, colour, bold=True))


def _square(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """Not measured."""
    box = Pen(1.8, 1.8, colour, casing_colour=colour)
    canvas.line(here + 0.85 * scale * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]), box, closed=True)
    canvas.text(Lettering((float(here[0]), float(here[1])), "!", 1.2 * HALF, colour, bold=True))


def _circle(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """A centrepiece: a dashed circle with a radius."""
    ring = shapes.circle(here, 0.92 * scale)
    canvas.fill(shapes.dashes([*ring, ring[0]], 4.6 * canvas.q, 3.0 * canvas.q, 1.8 * canvas.q), colour)
    end = here + 0.62 * scale * np.array([0.71, -0.71])
    canvas.stroke([here, end], 1.8, colour)
    for point in (here, end):
        canvas.fill([shapes.circle(point, 0.16 * scale)], colour)


def _dots(canvas: Canvas, here: Floats, scale: float, colour: RGB) -> None:
    """Dots amiss: a bead, a dashed one that is missing, a big one to act on."""
    ring = shapes.circle(here + scale * np.array([0.0, -0.5]), 0.36 * scale)
    canvas.fill(shapes.dashes([*ring, ring[0]], 3.4 * canvas.q, 2.3 * canvas.q, 1.6 * canvas.q), colour)
    canvas.fill([shapes.circle(here + scale * np.array([-0.62, 0.42]), 0.3 * scale)], colour)
    canvas.solid(shapes.circle(here + scale * np.array([0.48, 0.42]), 0.46 * scale), MOVE, 1.2)
