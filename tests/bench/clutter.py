"""Things on a painter's table: beside the panel as flat slabs, over its sides as pieces with height."""

import numpy as np

from tests.render import Panel, Piece, Slab

Rng = np.random.Generator
PAPERS = ("#f0eee8", "#d8c9a0", "#8fb0c8", "#c8b8a8", "#303034", "#a03028", "#e8e0d0")


def _piece(points: np.ndarray, top_mm: float, colour: str, **how: object) -> Piece:
    return Piece(tuple(map(tuple, points.tolist())), top_mm, colour=colour, **how)  # type: ignore[arg-type]


def _side(rng: Rng, panel: Panel) -> tuple[np.ndarray, np.ndarray, float]:
    """The middle of one of the sides, its outward normal, and its half length."""
    k = int(rng.integers(4))
    outward = np.array([[0.0, -1], [1, 0], [0, 1], [-1, 0]])[k]
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    return outward * half, outward, float(half[1 - k % 2 if k % 2 else 0])


def hand(rng: Rng, panel: Panel, corner: bool) -> tuple[Piece, ...]:
    """A hand that holds the panel: palm outside, four fingers in."""
    middle, outward, half = _side(rng, panel)
    along = np.array([-outward[1], outward[0]])
    at = middle + along * half * (rng.choice([-0.95, 0.95]) if corner else rng.uniform(-0.6, 0.6))
    skin = str(rng.choice(["#d8a888", "#8a5a40", "#e8c0a0"]))
    palm = [at + outward * x + along * y for x, y in ((12, -42), (12, 42), (110, 46), (110, -46))]
    pieces = [_piece(np.array(palm), 18.0, skin, bottom_mm=2.0)]
    for k in range(4):
        a = np.linspace(0, np.pi, 16)
        reach, base = rng.uniform(25, 45), (k - 1.5) * 21
        tip = np.stack([-reach - 9 * np.sin(a), base + 9 * np.cos(a)], -1)
        finger = np.concatenate([[[20, base + 9]], tip, [[20, base - 9]]])
        pieces.append(_piece(at + finger[:, :1] * outward + finger[:, 1:] * along, 14.0, skin))
    return tuple(pieces)


def cup(rng: Rng, panel: Panel) -> tuple[Piece, ...]:
    """A cup over a corner."""
    corner = panel.corners_mm[int(rng.integers(4))]
    a = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    centre = corner * rng.uniform(0.97, 1.08)
    ring = np.stack([np.cos(a), np.sin(a)], -1)
    size = float(rng.uniform(24, 40))
    body = _piece(centre + size * ring, 60.0, "#e6e2d8")
    return body, _piece(centre + 0.9 * size * ring, 60.2, "#4a2c1a", bottom_mm=59.8)


def ruler(rng: Rng, panel: Panel) -> tuple[Piece, ...]:
    """A ruler along a side and partly over it, nearly parallel to it."""
    middle, outward, half = _side(rng, panel)
    along = np.array([-outward[1], outward[0]])
    turn = np.radians(rng.normal(0, 1.5))
    u, v = along * np.cos(turn) + outward * np.sin(turn), outward * np.cos(turn) - along * np.sin(turn)
    at, long, wide = middle + outward * rng.uniform(-12, 8), half * rng.uniform(0.5, 1.1), 15.0
    colour = str(rng.choice(["#cfc9b8", "#b8bcc0", "#d8b060"]))
    return (
        _piece(
            np.array([at + long * a * u + wide * b * v for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]), 1.5, colour
        ),
    )


def plate(rng: Rng, panel: Panel) -> tuple[Piece, ...]:
    """A round plate with printed rings beside the panel."""
    middle, outward, _ = _side(rng, panel)
    size = float(rng.uniform(70, 120))
    centre = middle + outward * (size + rng.uniform(10, 40))
    a = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    ring = np.stack([np.cos(a), np.sin(a)], -1)
    colours = ("#f4f1ea", "#28488a", "#f4f1ea", "#28488a", "#f4f1ea")
    sizes = size * np.array([1.0, 0.85, 0.82, 0.4, 0.37])
    found = [
        _piece(centre + s * ring, 4.0 + 0.01 * k, c, bottom_mm=3.9 if k else 0.0)
        for k, (s, c) in enumerate(zip(sizes, colours, strict=True))
    ]
    return tuple(found)


def neighbour(rng: Rng, panel: Panel) -> tuple[Slab, ...]:
    """Another panel of the same make beside this one, parallel, drawn upon, that the photo cuts off."""
    middle, outward, _ = _side(rng, panel)
    gap = float(rng.uniform(6, 60))
    turn = float(rng.normal(0, 2))
    centre = middle + outward * (gap + panel.width_mm / 2) + rng.normal(0, 15, 2)
    slabs = [Slab(_at(centre), (panel.width_mm, panel.height_mm), turn, panel.colour)]
    slabs += [Slab(_at(centre), (1.0, 0.8 * panel.height_mm), turn + 30 * k, "#f2f0ea") for k in range(6)]
    return tuple(slabs)


def desk(rng: Rng, panel: Panel) -> tuple[Slab, ...]:
    """Papers, a picture frame, a laptop, a tablet around the panel; none of them over it."""
    slabs: list[Slab] = []
    for k in range(9):
        size = rng.uniform(90, 300, 2)
        reach = np.hypot(panel.width_mm, panel.height_mm) / 2 + np.hypot(*size) / 2
        a = rng.uniform(0, 2 * np.pi)
        centre = reach * rng.uniform(0.78, 1.3) * np.array([np.sin(a), np.cos(a)])
        turn = float(rng.choice([rng.uniform(-45, 45), rng.normal(0, 2)]))
        if not _clear_of(panel, centre, size, turn):
            continue
        outer, inner = ("#1c1c1e", "#4a7090") if k % 3 == 0 else (str(rng.choice(PAPERS)), str(rng.choice(PAPERS)))
        slabs.append(Slab(_at(centre), _at(size), turn, outer))
        if k % 3 < 2:
            slabs.append(Slab(_at(centre), _at(size - rng.uniform(12, 40)), turn, inner))
    return tuple(slabs)


def _at(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _clear_of(panel: Panel, centre: np.ndarray, size: np.ndarray, turn_deg: float) -> bool:
    """Whether a slab keeps 5 mm from the panel: their corners are all on the outer side of one of the panel's sides."""
    a = np.radians(turn_deg)
    u, v = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    corners = np.array([centre + x * size[0] / 2 * u + y * size[1] / 2 * v for x in (-1, 1) for y in (-1, 1)])
    half = np.array([panel.width_mm, panel.height_mm]) / 2 + 5
    return bool((corners > half).all(0).any() or (corners < -half).all(0).any())
