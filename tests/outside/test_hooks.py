"""Dots as large as the published sizes of hooks: a painter takes the tool whose size is about the dot's."""

import numpy as np

from aligncheck.dots import find_dots
from tests.dots.painted import BLUE, GOLD, RED, WHITE, Kind, Painting
from tests.outside.data import published


def test_each_size_is_told_from_its_neighbours() -> None:
    """Every ring of dots is nearest to its own hook, though some lie a quarter of a millimetre apart."""
    hooks = [(mm, name) for mm, name in published("hooks")["hooks"] if mm <= 6.5]
    colours = (RED, WHITE, BLUE, GOLD)
    kinds, radius = [], 22.0
    for k, (mm, _) in enumerate(hooks):
        kinds.append(Kind(radius, 15.0 * (k % 2), mm, colours[k % 4]))
        radius += mm + 1.0
    photo, marks = Painting(kinds, seed=5).draw()
    dots = find_dots(photo, marks, 12)
    assert dots is not None
    sizes = np.array([mm for mm, _ in hooks])
    seen = np.array([kind.diameter_mm for kind in sorted(dots.kinds, key=lambda kind: kind.radius_mm)])
    assert len(seen) == len(hooks)
    assert [hooks[int(np.abs(sizes - d).argmin())] for d in seen] == hooks
    assert np.abs(seen - sizes).max() < 0.2
