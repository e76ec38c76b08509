"""Pieces of painted petals and dots by a steady hand, each seed a design, for faults to be planted in."""

from dataclasses import replace

import numpy as np

from tests.dots.variety import TOPICS, piece
from tests.render import Dot, Drawing, Rendered, Scene, photograph
from tests.render.hand import Hand

#: Draws marks without one that is far off.
STEADY = Hand(bad_spokes=0)
#: Pixels across a photo.
WIDTH_PX = 1800
#: Paints of petals beneath the dots.
PETALS = ("#7a2b52", "#2f5d50", "#8a6a2f", "#34507f")
#: Groups of paint that is no dot.
PETAL, PAINT = "petal", "paint"
#: Steps along a petal's axis, mm.
STEP_MM = 0.5


def design(seed: int, hand_mm: float | None = None) -> tuple[Drawing, Scene]:
    """A faultless piece; `hand_mm`: how far its dots and petals stray, sd each way, where not the topic's own."""
    rng = np.random.default_rng([seed, 91])
    order = int(rng.integers(6, 17))
    topic = replace(TOPICS["ordinary"], order=order, missing=0, oversize=0, width_px=WIDTH_PX, marks_by=STEADY)
    if hand_mm is not None:
        topic = replace(topic, hand_mm=hand_mm)
    drawing, scene = piece(topic, seed)
    petals = _petals(drawing, order, rng, 0.2 if hand_mm is None else hand_mm)
    return replace(drawing, dots=(*petals, *drawing.dots), ghosts=()), scene


def paint(drawing: Drawing, scene: Scene, seed: int) -> Rendered:
    """The photo."""
    return photograph(drawing, scene, seed)


def _petals(drawing: Drawing, order: int, rng: np.random.Generator, hand_mm: float) -> tuple[Dot, ...]:
    """Pointed petals from 40 to 88 mm, painted flat, half-way between the spokes."""
    colour = PETALS[int(rng.integers(len(PETALS)))]
    start, stop = 40.0, 88.0
    widest = 0.42 * np.radians(360 / order) * 60
    found = []
    for k in range(order):
        a = np.radians(360 / order * (k + 0.5))
        out, across = np.array([np.sin(a), -np.cos(a)]), np.array([np.cos(a), np.sin(a)])
        aside, beyond = rng.normal(0, hand_mm, 2)
        for r in np.arange(start, stop, STEP_MM):
            t = (r - start) / (stop - start)
            width = 2 * widest * np.sin(np.pi * t**0.8) ** 0.9
            if width > 0.4:
                at = np.array(drawing.centre_mark_mm) + (r + beyond) * out + aside * across
                found.append(Dot((float(at[0]), float(at[1])), float(width), colour, PETAL, k, flat=True))
    return tuple(found)
