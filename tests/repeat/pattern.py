"""A painted panel drawn straight: dots in segments, seen from above, lit unevenly where asked."""

import cv2
import numpy as np

from aligncheck.panel import Panel
from aligncheck.photo import Photo
from tests.marks.drawn import photograph

SIZE_MM, PX_PER_MM = 200.0, 4.0

Dot = tuple[float, float, float, tuple[int, int, int]]

#: Radius, share of the segment, diameter, colour.
SEGMENT: tuple[Dot, ...] = (
    (30.0, 0.0, 7.0, (210, 60, 40)),
    (48.0, 0.3, 5.0, (230, 220, 200)),
    (48.0, 0.7, 5.0, (60, 150, 190)),
    (66.0, 0.0, 8.0, (240, 200, 60)),
    (80.0, 0.5, 4.0, (210, 60, 40)),
)


def paint(
    order: int,
    centre_mm: tuple[float, float] = (2.0, -3.0),
    turn_deg: float = 7.0,
    without: tuple[int, int] | None = None,
    other_colour: tuple[int, int] | None = None,
    bare: tuple[int, ...] = (),
    lamp: float = 0.0,
    seed: int = 1,
    segment: tuple[Dot, ...] = SEGMENT,
) -> tuple[Photo, Panel]:
    """Paint `order` segments; `without` and `other_colour` name segment and dot, `lamp` darkens towards one side."""
    rng = np.random.default_rng(seed)
    n = round(SIZE_MM * PX_PER_MM)
    big = np.full((2 * n, 2 * n, 3), (38, 42, 70), np.uint8)
    for k in range(order):
        for j, (radius, share, diameter, colour) in enumerate(segment):
            if (k, j) == without or k in bare:
                continue
            a = np.radians(turn_deg + 360 / order * (k + share))
            place = np.array(centre_mm) + radius * np.array([np.sin(a), -np.cos(a)]) + rng.normal(scale=0.2, size=2)
            p = np.round(((place + SIZE_MM / 2) * PX_PER_MM * 2 - 0.5) * 16).astype(int)
            tone = (60, 150, 190) if (k, j) == other_colour else colour
            r = round(diameter / 2 * PX_PER_MM * 2 * 16)
            cv2.circle(big, (int(p[0]), int(p[1])), r, tone, -1, cv2.LINE_AA, 4)
    image = cv2.resize(big, (n, n), interpolation=cv2.INTER_AREA).astype(np.float32)
    x = np.linspace(-1, 1, n)[None, :, None]
    linear = (image / 255) ** 2.2 * (1 + lamp * x)
    image = 255 * np.clip(linear, 0, 1) ** (1 / 2.2)
    _, panel = photograph(np.zeros((n, n), np.float32), SIZE_MM, PX_PER_MM, rng)
    noisy = image + rng.normal(scale=2.0, size=image.shape)
    return Photo(np.clip(noisy, 0, 255).astype(np.uint8)), panel
