"""Faults that are planted in a faultless piece, each a function of the drawing that returns it and where it is."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from skimage.color import lab2rgb, rgb2lab

from aligncheck.geometry.colour_difference import ciede2000
from tests.render import Dot, Drawing
from tests.repeat.planted import PAINT, PETAL

Floats = np.ndarray


@dataclass(frozen=True)
class Fault:
    """Where a fault lies: its middle and how far it reaches, mm."""

    at_mm: Floats
    radius_mm: float


Plant = Callable[[Drawing, np.random.Generator], tuple[Drawing, Fault]]


def _one(drawing: Drawing, rng: np.random.Generator, least_mm: float = 3.0, most_mm: float = 9.0) -> int:
    """Index of a dot of a size between these."""
    able = [
        k for k, d in enumerate(drawing.dots) if d.group not in (PETAL, PAINT) and least_mm <= d.diameter_mm <= most_mm
    ]
    return able[int(rng.integers(len(able)))]


def _changed(drawing: Drawing, index: int, other: Dot | None) -> Drawing:
    dots = drawing.dots[:index] + ((other,) if other else ()) + drawing.dots[index + 1 :]
    return replace(drawing, dots=dots)


def _on(dot: Dot, more_mm: float = 0.0) -> Fault:
    return Fault(np.array(dot.centre_mm), dot.diameter_mm / 2 + more_mm)


def missing(least_mm: float, most_mm: float) -> Plant:
    """A dot left out: its neighbours' ground shows."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        k = _one(drawing, rng, least_mm, most_mm)
        return _changed(drawing, k, None), _on(drawing.dots[k])

    return plant


def shifted(mm: float) -> Plant:
    """A dot set so far off its place."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        k = _one(drawing, rng)
        dot, a = drawing.dots[k], float(rng.uniform(0, 2 * np.pi))
        x, y = dot.centre_mm
        moved = replace(dot, centre_mm=(x + mm * np.cos(a), y + mm * np.sin(a)))
        return _changed(drawing, k, moved), _on(dot, mm)

    return plant


def recoloured(difference: float) -> Plant:
    """A dot in a paint that is so much another (CIEDE2000)."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        k = _one(drawing, rng)
        dot = drawing.dots[k]
        return _changed(drawing, k, replace(dot, colour=other_colour(dot.colour, difference, rng))), _on(dot)

    return plant


def petal(difference: float) -> Plant:
    """A petal filled with another paint."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        which = int(rng.integers(drawing.segments))
        mine = [d for d in drawing.dots if d.group == PETAL and d.index == which]
        tone = other_colour(mine[0].colour, difference, rng)
        dots = tuple(replace(d, colour=tone) if d.group == PETAL and d.index == which else d for d in drawing.dots)
        places = np.array([d.centre_mm for d in mine])
        return replace(drawing, dots=dots), Fault(places.mean(0), 20.0)

    return plant


def smudge(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
    """A dot dragged aside while wet: its paint thins out over three quarters of its own size."""
    k = _one(drawing, rng, 4.0)
    dot, a = drawing.dots[k], float(rng.uniform(0, 2 * np.pi))
    way = np.array([np.cos(a), np.sin(a)])
    tail = tuple(
        Dot(
            tuple(np.array(dot.centre_mm) + t * dot.diameter_mm * way),
            dot.diameter_mm * (0.9 - 0.4 * t),
            dot.colour,
            PAINT,
            flat=True,
        )
        for t in np.linspace(0.1, 0.75, 8)
    )
    return replace(drawing, dots=drawing.dots + tail), _on(dot, 0.75 * dot.diameter_mm)


def stroke(long_mm: float, wide_mm: float) -> Plant:
    """A stroke of light paint where nothing belongs."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        centre = np.array(drawing.centre_mark_mm)
        a, b, r = rng.uniform(0, 2 * np.pi), rng.uniform(0, 2 * np.pi), rng.uniform(30, 100)
        middle, way = centre + r * np.array([np.cos(a), np.sin(a)]), np.array([np.cos(b), np.sin(b)])
        line = tuple(
            Dot(tuple(middle + t * long_mm * way), wide_mm, "#d8cfb4", PAINT, flat=True)
            for t in np.linspace(-0.5, 0.5, int(4 * long_mm))
        )
        return replace(drawing, dots=drawing.dots + line), Fault(middle, long_mm / 2)

    return plant


def run_small(share: float) -> Plant:
    """All dots of some kinds that lie near one another too small in one segment."""

    def plant(drawing: Drawing, rng: np.random.Generator) -> tuple[Drawing, Fault]:
        seed = drawing.dots[_one(drawing, rng)]
        at = np.array(seed.centre_mm)
        near = [
            k
            for k, d in enumerate(drawing.dots)
            if d.group not in (PETAL, PAINT) and np.hypot(*(np.array(d.centre_mm) - at)) < 9
        ]
        dots = tuple(
            replace(d, diameter_mm=share * d.diameter_mm) if k in near else d for k, d in enumerate(drawing.dots)
        )
        return replace(drawing, dots=dots), Fault(at, 11.0)

    return plant


def other_colour(colour: str, difference: float, rng: np.random.Generator) -> str:
    """A colour that lies so far from another (CIEDE2000), some way or other."""
    codes = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    lab = rgb2lab(codes)
    for _ in range(200):
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        low, high = 0.0, 120.0
        for _ in range(30):
            middle = (low + high) / 2
            low, high = (middle, high) if ciede2000(lab, lab + middle * way) < difference else (low, middle)
        target = lab + low * way
        found = lab2rgb(target)
        if np.abs(rgb2lab(found) - target).max() < 0.5 and 5 < target[0] < 95:
            break
    return "#" + "".join(f"{round(float(c) * 255):02x}" for c in np.clip(found, 0, 1))


FAULTS: dict[str, Plant] = {
    "missing": missing(3.0, 9.0),
    "missing 2 mm": missing(1.5, 2.5),
    "shifted 1 mm": shifted(1.0),
    "shifted 2 mm": shifted(2.0),
    "shifted 3 mm": shifted(3.0),
    "recoloured 3": recoloured(3.0),
    "recoloured 6": recoloured(6.0),
    "recoloured 12": recoloured(12.0),
    "recoloured 25": recoloured(25.0),
    "smudge": smudge,
    "stroke 12 x 1.2": stroke(12.0, 1.2),
    "stroke 6 x 0.8": stroke(6.0, 0.8),
    "run 25 % small": run_small(0.75),
    "run 40 % small": run_small(0.6),
    "petal 3": petal(3.0),
    "petal 6": petal(6.0),
    "petal 12": petal(12.0),
}
