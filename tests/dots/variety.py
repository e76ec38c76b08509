"""Painted pieces of many kinds, drawn by the tests' renderer: each seed a design, each topic a trouble."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from tests.render import Dot, Drawing, Finish, Light, Panel, Rendered, Scene, by_hand, ordinary_scene, photograph
from tests.render.hand import Hand

Floats = np.ndarray
PANEL_MM, BLACK = 304.8, "#1d1d1f"
#: Group of the paint between dots that have run together.
BRIDGE = "bridge"
#: Group of what a teardrop's tail is drawn with, and its head's and tail's width and length, mm: no dots.
TEARDROP, HEAD_MM, TAIL_MM, DROP_MM = "teardrop", 3.4, 0.5, 9.0
#: What is painted and no dot.
NO_DOTS = (BRIDGE, TEARDROP)
#: Clear between dots that do not touch, mm; nothing is painted nearer the side than this.
GAP_MM, BORDER_MM = 0.9, 14.0


@dataclass(frozen=True)
class Topic:
    """One kind of piece: what differs from an ordinary one."""

    order: int = 12
    sizes_mm: tuple[float, float] = (1.5, 9.0)
    gap_mm: float = GAP_MM
    colours: tuple[str, ...] = ("#c4383f", "#e7b93c", "#3c8cba", "#e2dccb", "#5fa05a")
    look: Dot = field(default=Dot((0.0, 0.0), 1.0, shadow=0.35))
    panel: str = BLACK
    chalk: str = "#f2f0ea"
    swirl_deg: float = 0.0
    #: How many dots are set on one another.
    tops: int = 0
    #: Painted circles beneath, from the outermost inward: shares of the design's radius, and colours.
    ground: tuple[tuple[float, str], ...] = ()
    teardrops: bool = False
    #: The paint of a row changes from segment to segment by this much of the way to the next one.
    shift: float = 0.0
    missing: int = 1
    oversize: int = 1
    merged: int = 0
    painted_deg: float = 360.0
    marked: bool = True
    width_px: int = 2800
    tilt_deg: float = 12.0
    #: By how much the lamp's colour changes red, green and blue codes.
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    #: How its marks are drawn; how far its dots stray, sd each way, where that is not chosen by the seed.
    marks_by: Hand = field(default=Hand())
    hand_mm: float | None = None
    light: Callable[[Light], Light] = lambda light: light
    finish: Callable[[Finish], Finish] = lambda finish: finish


METAL = Dot((0.0, 0.0), 1.0, shine=0.9, shine_wide=0.45, shadow=0.35)
MATT = Dot((0.0, 0.0), 1.0, shine=0.0, shadow=0.35)
GLOSS = Dot((0.0, 0.0), 1.0, shine=2.0, shine_wide=0.16, shadow=0.45)
ACROSS = (0.0, 0.0, 70.0, 12.0, 0.55)

TOPICS = {
    "ordinary": Topic(),
    "small and large": Topic(10, (1.0, 15.0)),
    "touching": Topic(gap_mm=-0.1),
    "on one another": Topic(tops=1, sizes_mm=(3.0, 9.0)),
    "metal": Topic(colours=("#b08d57", "#c0c0c4", "#b87345", "#d4af37"), look=METAL),
    "pale on white": Topic(
        panel="#efece4", chalk="#77777a", colours=("#e8c9c9", "#c9dbe8", "#d9e8c9", "#e8e0b0", "#cfc3de")
    ),
    "dark on black": Topic(colours=("#2a2f5c", "#4a1f3d", "#1f4a36", "#5a3a1c", "#4a4a52")),
    "neon": Topic(colours=("#39ff14", "#ff3fa4", "#fff000", "#ff6a13", "#00e5ff")),
    "two colours": Topic(ground=((1.0, "#7a2036"), (0.45, BLACK))),
    "matt": Topic(look=MATT),
    "glossy": Topic(look=GLOSS),
    "walked": Topic(swirl_deg=3.0, gap_mm=0.4),
    "swirl": Topic(swirl_deg=9.0, order=9),
    "three missing": Topic(16, missing=3, oversize=0),
    "three oversize": Topic(14, missing=0, oversize=3),
    "run together": Topic(merged=3, missing=0, oversize=0),
    "five": Topic(5),
    "six": Topic(6),
    "seven": Topic(7),
    "twenty-four": Topic(24, (1.2, 6.0)),
    "coarse": Topic(width_px=1400),
    "aslant": Topic(tilt_deg=32.0),
    "warm light": Topic(tint=(1.1, 0.97, 0.72)),
    "shadow across": Topic(light=lambda light: replace(light, across=ACROSS)),
    "half painted": Topic(painted_deg=210.0, missing=0, oversize=0),
    "no marks left": Topic(marked=False),
    "poor photo": Topic(finish=lambda one: replace(one, noise=0.03, jpeg_quality=70, blur_px=1.3)),
    "own colour": Topic(panel="#7a1c22", colours=("#8a2026", "#801d24", "#e2dccb"), sizes_mm=(3.0, 9.0)),
    "fine photo": Topic(width_px=4032, sizes_mm=(1.0, 6.0), order=20),
    "three on another": Topic(tops=2, sizes_mm=(5.0, 13.0), order=10),
    "tops on circles": Topic(tops=1, sizes_mm=(3.0, 9.0), ground=((0.9, "#20506b"), (0.5, "#d8cfb8"))),
    "four fields": Topic(ground=((1.0, "#35302c"), (0.8, "#1d6b68"), (0.55, "#c9b28a"), (0.3, "#5c1f4a"))),
    "white on black": Topic(16, (1.0, 2.2), colours=("#e8e6e0",), width_px=4032, marked=False),
    "teardrops": Topic(teardrops=True),
    "glitter": Topic(look=replace(METAL, grain=0.5), colours=("#b08d57", "#c0c0c4", "#8a4fa8", "#d4af37")),
    "windows": Topic(8, (4.0, 15.0), look=replace(GLOSS, lamps="window")),
    "two lamps": Topic(10, (2.5, 12.0), look=replace(GLOSS, lamps="two")),
    "changing paint": Topic(shift=1.0),
}


@dataclass(frozen=True)
class _Place:
    """A dot of the first segment: how far out, its share of a segment from the spoke, size, paint, and kind."""

    radius_mm: float
    share: float
    size_mm: float
    paint: int
    top: int = 0


def piece(topic: Topic, seed: int) -> tuple[Drawing, Scene]:
    """The drawing and how it is photographed."""
    rng = np.random.default_rng([seed, 47])
    marks = by_hand(seed, (PANEL_MM, PANEL_MM), topic.order, colour=topic.chalk, ghosts=2, hand=topic.marks_by)
    if not topic.marked:
        marks = replace(marks, spokes=(), rings=(), centre_cross=(), strays=(), ghosts=())
    places = _design(topic, rng)
    dots, missing = _painted(topic, places, np.array(marks.centre_mark_mm), rng)
    edge = max(p.radius_mm for p in places) + 6
    grounds = tuple(Dot(marks.centre_mark_mm, 2 * edge * share, colour, flat=True) for share, colour in topic.ground)
    return replace(marks, dots=dots, missing_dots=missing, grounds=grounds), _scene(topic, seed)


def photo(topic: Topic, seed: int) -> Rendered:
    """The piece as photographed, with its truth."""
    picture = photograph(*piece(topic, seed), seed)
    return replace(picture, pixels=np.clip(picture.pixels * np.array(topic.tint), 0, 255).astype(np.uint8))


def _scene(topic: Topic, seed: int) -> Scene:
    panel = Panel(PANEL_MM, PANEL_MM, colour=topic.panel)
    size = (topic.width_px, topic.width_px * 3 // 4)
    scene = ordinary_scene(seed, size, (PANEL_MM, PANEL_MM), most_tilt_deg=topic.tilt_deg, panel=panel)
    return replace(scene, light=topic.light(scene.light), finish=topic.finish(scene.finish))


def _design(topic: Topic, rng: np.random.Generator) -> list[_Place]:
    """Rings and walked runs from the middle outward, none upon another."""
    low, high = topic.sizes_mm
    outer, pitch = PANEL_MM / 2 - BORDER_MM, 360.0 / topic.order
    found: list[_Place] = []
    radius, number = 13.0, 0
    while True:
        paint = number % len(topic.colours)
        size = float(np.exp(rng.uniform(np.log(low), np.log(high))))
        if number % 3 == 2:
            more = _walk(topic, rng, radius, max(size, min(3.5, high)), paint)
        else:
            middle = radius + size / 2
            room = int(np.radians(pitch) * middle / (size + topic.gap_mm))
            each = int(rng.integers(1, min(max(room, 1), 6) + 1)) if room > 1 else 1
            if room < 1:
                size = 0.8 * np.radians(pitch) * middle
            # Dots that touch stand as close as they can.
            each = room if topic.gap_mm < 0 and room > 1 else each
            more = [_Place(middle, (k + 0.5 * (number % 2)) / each, size, paint) for k in range(each)]
        far = max(p.radius_mm + p.size_mm / 2 for p in more)
        if far > outer:
            return found
        found += more
        radius, number = far + max(topic.gap_mm, 0.3), number + 1
        if topic.tops and len(more) and more[0].size_mm > 4.0 and number % 3 != 0:
            share = 0.4 if topic.tops == 1 else 0.55
            for level in range(1, topic.tops + 1):
                other = (paint + 2 * level) % len(topic.colours)
                found += [replace(p, size_mm=share**level * p.size_mm, paint=other, top=level) for p in more]


def _walk(topic: Topic, rng: np.random.Generator, radius: float, size: float, paint: int) -> list[_Place]:
    """A run outward that diminishes and drifts aside, and one beside it where there is room."""
    step, drift = float(rng.uniform(0.78, 0.9)), float(rng.uniform(0.3, 1.0)) * topic.swirl_deg
    least, run = max(topic.sizes_mm[0], 0.35 * size), []
    at, angle = radius + size / 2, 0.0
    while size > least and len(run) < 7:
        if size > 0.8 * np.radians(360.0 / topic.order) * at:
            size *= 0.8
            continue
        run.append(_Place(at, angle * topic.order / 360.0, size, (paint + len(run)) % len(topic.colours)))
        at += (1 + step) * size / 2 + topic.gap_mm
        size, angle = size * step, angle + drift
    if not run:
        return [_Place(radius + 2, 0.0, 3.0, paint)]
    beside = [replace(p, share=p.share + 0.5, size_mm=0.8 * p.size_mm) for p in run]
    wide = max(p.size_mm / p.radius_mm for p in run)
    return run + beside if 2.2 * wide < np.radians(360.0 / topic.order) else run


def _painted(
    topic: Topic, places: list[_Place], centre: Floats, rng: np.random.Generator
) -> tuple[tuple[Dot, ...], tuple[Dot, ...]]:
    """All dots as a hand sets them, with faults; and those left out."""
    hand, spread = float(rng.uniform(0.12, 0.3)), float(rng.uniform(0.015, 0.035))
    hand = hand if topic.hand_mm is None else topic.hand_mm
    plain = [(k, s) for k, p in enumerate(places) for s in range(topic.order) if p.size_mm >= 2.2 and not p.top]
    covered = {(p.radius_mm, p.share) for p in places if p.top}
    plain = [(k, s) for k, s in plain if (places[k].radius_mm, places[k].share) not in covered]
    picked = [plain[i] for i in rng.permutation(len(plain))]
    gone, picked = set(picked[: topic.missing]), picked[topic.missing :]
    big, picked = set(picked[: topic.oversize]), picked[topic.oversize :]
    dots: list[Dot] = []
    missing: list[Dot] = []
    for k, p in enumerate(places):
        for s in range(topic.order):
            degrees = 360.0 / topic.order * (s + p.share)
            if degrees % 360 > topic.painted_deg:
                continue
            a = np.radians(degrees)
            at = centre + p.radius_mm * np.array([np.sin(a), -np.cos(a)]) + rng.normal(0, hand, 2)
            extra = float(rng.uniform(0.32, 0.5)) * p.size_mm if (k, s) in big else 0.0
            size = p.size_mm * float(np.exp(rng.normal(0, spread))) + extra
            shade = topic.colours[p.paint]
            if topic.shift:
                shade = _between(
                    shade, topic.colours[(p.paint + 1) % len(topic.colours)], topic.shift * s / topic.order
                )
            one = replace(
                topic.look, centre_mm=(float(at[0]), float(at[1])), diameter_mm=size, colour=shade,
                group=f"kind {k}", index=s, oversize_mm=extra,
            )  # fmt: skip
            (missing if (k, s) in gone else dots).append(one)
    if topic.teardrops:
        dots += _teardrops(topic, max(p.radius_mm + p.size_mm / 2 for p in places), centre)
    for k, s in picked[: topic.merged]:
        dots += _bridge(dots, f"kind {k}", s)
    return tuple(dots), tuple(missing)


def _between(one: str, other: str, share: float) -> str:
    """A colour that share of the way from one to another."""
    codes = [[int(c[k : k + 2], 16) for k in (1, 3, 5)] for c in (one, other)]
    return "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in zip(*codes, strict=True))


def _teardrops(topic: Topic, radius_mm: float, centre: Floats) -> list[Dot]:
    """One beside every spoke, beyond the dots, its tail along the circle about the centre."""
    found = []
    far = min(radius_mm + 4.0, PANEL_MM / 2 - 8.0)
    for s in range(topic.order):
        for t in np.linspace(0, 1, 40):
            a = np.radians(360.0 / topic.order * (s + 0.5)) + t * DROP_MM / far
            at = centre + far * np.array([np.sin(a), -np.cos(a)])
            wide = HEAD_MM + t * (TAIL_MM - HEAD_MM)
            found.append(Dot((float(at[0]), float(at[1])), wide, topic.colours[1], TEARDROP, s, flat=True))
    return found


def _bridge(dots: list[Dot], group: str, index: int) -> list[Dot]:
    """Paint between a dot and its nearest neighbour: they have run together."""
    one = next(d for d in dots if d.group == group and d.index == index)
    at = np.array(one.centre_mm)
    other = min((d for d in dots if d is not one), key=lambda d: float(np.hypot(*(np.array(d.centre_mm) - at))))
    small = min(one, other, key=lambda d: d.diameter_mm)
    return [
        replace(
            small,
            centre_mm=tuple((at + t * (np.array(other.centre_mm) - at)).tolist()),
            colour=one.colour,
            group=BRIDGE,
        )
        for t in (0.3, 0.5, 0.7)
    ]
