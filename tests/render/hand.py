"""Draw like a person: nothing quite where it was meant, lines that stop and start, marks wiped and drawn again."""

from dataclasses import dataclass

import numpy as np

from tests.render.drawing import Drawing, Point, Ring, Segment, Spoke


@dataclass(frozen=True)
class Hand:
    """How far a person is off, standard deviations in mm and degrees."""

    centre_mm: float = 0.8
    angle_deg: float = 0.35
    miss_mm: float = 0.35
    end_mm: float = 1.5
    radius_mm: float = 0.35
    ring_centre_mm: float = 0.3
    bow_mm: float = 0.0
    wave_mm: float = 0.0
    bad_spokes: int = 1
    bad_deg: float = 1.6


def by_hand(
    seed: int,
    panel_mm: tuple[float, float] = (304.8, 304.8),
    segments: int = 12,
    pitch_mm: float = 12.7,
    rings: int = 8,
    *,
    rotation_deg: float = 0.0,
    hand: Hand | None = None,
    two_strokes: bool = False,
    diagonals: bool = False,
    border_mm: float | None = None,
    ghosts: int = 4,
    stencil: bool = True,
    width_mm: float = 1.0,
    colour: str = "#f2f0ea",
    cover: float = 0.85,
) -> Drawing:
    """Draw centre, spokes and rings on a panel, with the errors of a `hand`."""
    hand = hand or Hand()
    rng = np.random.default_rng([seed, 77])
    w, h = panel_mm[0] / 2, panel_mm[1] / 2
    lines = _diagonals(rng, hand, w, h) if diagonals else ()
    # The mark is where its two lines cross: the diagonals, or a short cross somewhere near the middle.
    centre = _crossing(*lines) if lines else _point(rng.normal(0, hand.centre_mm, 2))
    inner, outer = max(3.0, 0.3 * pitch_mm), pitch_mm * (rings + 0.5)
    spokes = _spokes(rng, hand, centre, segments, rotation_deg, inner, outer, two_strokes, width_mm)
    around = tuple(_ring(rng, hand, centre, pitch_mm * k, stencil, width_mm) for k in range(1, rings + 1))
    return Drawing(
        centre_mark_mm=centre,
        segments=segments,
        rotation_deg=rotation_deg,
        ring_pitch_mm=pitch_mm,
        spokes=spokes,
        rings=around,
        centre_cross=_cross(rng, centre, diagonals),
        diagonals=lines,
        strays=() if border_mm else _ticks(rng, w, h),
        borders=_borders(rng, hand, w - border_mm, h - border_mm) if border_mm else (),
        ghosts=tuple(_ghost(rng, s, centre) for s in rng.choice(np.array(spokes, object), ghosts)) if ghosts else (),
        colour=colour,
        cover=cover,
        line_mm=width_mm * 0.9,
    )


def _point(xy: np.ndarray) -> Point:
    return float(xy[0]), float(xy[1])


def _polar(centre: Point, angle_deg: float, radius: float, aside: float = 0.0) -> Point:
    """A point `radius` out along `angle_deg` and `aside` clockwise of it."""
    a = np.radians(angle_deg)
    out, across = np.array([np.sin(a), -np.cos(a)]), np.array([np.cos(a), np.sin(a)])
    return _point(np.asarray(centre) + radius * out + aside * across)


def _spokes(
    rng: np.random.Generator,
    hand: Hand,
    centre: Point,
    count: int,
    rotation: float,
    inner: float,
    outer: float,
    two: bool,
    width: float,
) -> tuple[Spoke, ...]:
    bad = set(rng.choice(count, min(hand.bad_spokes, count), replace=False).tolist())
    spokes = []
    for k in range(count):
        error = rng.normal(0, hand.angle_deg) + (rng.choice([-1, 1]) * hand.bad_deg if k in bad else 0.0)
        angle, aside = rotation + 360 * k / count + error, rng.normal(0, hand.miss_mm)
        end = outer + rng.normal(0, hand.end_mm)
        middle = end * rng.uniform(0.55, 0.7) if two else end
        turned = angle + rng.normal(0, 0.2)
        start = _polar(centre, angle, middle - rng.uniform(0, 4), aside + rng.normal(0, 0.15))
        along = (
            start[0] + (end - middle) * np.sin(np.radians(turned)),
            start[1] - (end - middle) * np.cos(np.radians(turned)),
        )
        gap = float(rng.uniform(inner + 5, middle - 5))
        spokes.append(
            Spoke(
                inner_mm=_polar(centre, angle, inner + abs(rng.normal(0, 0.8)), aside),
                outer_mm=_polar(centre, angle, middle, aside),
                width_mm=width * float(np.clip(rng.normal(1, 0.08), 0.7, 1.3)),
                extension_inner_mm=start if two else None,
                extension_outer_mm=(float(along[0]), float(along[1])) if two else None,
                bow_mm=tuple(rng.normal(0, hand.bow_mm, 3) * (1, 0.5, 0.3)) if hand.bow_mm else (0.0, 0.0, 0.0),
                gaps=((gap, gap + float(rng.uniform(1, 3))),) if rng.random() < 0.2 else (),
                angle_error_deg=float(error),
            )
        )
    return tuple(spokes)


def _ring(rng: np.random.Generator, hand: Hand, centre: Point, radius: float, stencil: bool, width: float) -> Ring:
    gaps: tuple[tuple[float, float], ...] = ()
    if stencil:
        # A stencil's bridges: eight of them, about 3 mm wide, each arc stopped a little early or late.
        start = rng.normal(22.5, 1.0)
        half = np.degrees(1.5 / radius)
        gaps = tuple(
            (float(start + 45 * k - half * rng.uniform(0.7, 1.4)), float(start + 45 * k + half * rng.uniform(0.7, 1.4)))
            for k in range(8)
        )
    waves = tuple((float(abs(rng.normal(0, hand.wave_mm))), float(rng.uniform(0, 360))) for _ in range(3))
    return Ring(
        centre_mm=_point(np.asarray(centre) + rng.normal(0, hand.ring_centre_mm, 2)),
        radius_mm=float(radius + rng.normal(0, hand.radius_mm)),
        width_mm=width * float(np.clip(rng.normal(1, 0.08), 0.7, 1.3)),
        gaps_deg=gaps,
        waves_mm=waves if hand.wave_mm else (),
    )


def _cross(rng: np.random.Generator, centre: Point, long: bool) -> tuple[Segment, ...]:
    """A short cross whose lines pass through the centre; none where the diagonals made it."""
    if long:
        return ()
    turns = rng.normal(0, 2, 2) + (45, 135)
    return tuple((_polar(centre, a, -rng.uniform(3, 6)), _polar(centre, a, rng.uniform(3, 6))) for a in turns)


def _diagonals(rng: np.random.Generator, hand: Hand, w: float, h: float) -> tuple[Segment, Segment]:
    """Corner to corner, each end a little beside its corner."""
    corners = ((-w, -h), (w, h), (w, -h), (-w, h))
    a, b, c, d = (np.array(corner) * 0.985 + rng.normal(0, hand.centre_mm, 2) for corner in corners)
    return (_point(a), _point(b)), (_point(c), _point(d))


def _borders(rng: np.random.Generator, hand: Hand, w: float, h: float) -> tuple[Segment, ...]:
    """A line along each side, drawn from mark to mark: nearly parallel, ends that miss or cross each other."""
    corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
    ends = [corners[[k, (k + 1) % 4]] + rng.normal(0, 0.6 * hand.centre_mm, (2, 2)) for k in range(4)]
    return tuple((_point(a), _point(b)) for a, b in ends)


def _crossing(one: Segment, other: Segment) -> Point:
    (a, b), (c, d) = np.array(one), np.array(other)
    t, _ = np.linalg.solve(np.column_stack([b - a, c - d]), c - a)
    return _point(a + t * (b - a))


def _ticks(rng: np.random.Generator, w: float, h: float) -> tuple[Segment, ...]:
    """Short ticks at the middle of two sides."""
    a, b = rng.normal(0, 0.6, 2)
    return ((a, -h + 1.0), (a, -h + 8.0)), ((w - 8.0, b), (w - 1.0, b))


def _ghost(rng: np.random.Generator, spoke: Spoke, centre: Point) -> Spoke:
    """A spoke that was wiped: the same a few degrees off."""
    turn = np.radians(rng.choice([-1, 1]) * rng.uniform(1.5, 5))
    c, s = np.cos(turn), np.sin(turn)
    matrix, middle = np.array([[c, -s], [s, c]]), np.asarray(centre)
    inner, outer = (_point(matrix @ (np.asarray(p) - middle) + middle) for p in (spoke.inner_mm, spoke.outer_mm))
    return Spoke(inner, outer, spoke.width_mm)
