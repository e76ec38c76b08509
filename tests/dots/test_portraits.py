"""Dots drawn with shading, chalk beside them and noise, measured by their common portrait."""

import cv2
import numpy as np
import pytest

from aligncheck.dots.outlines import outline
from aligncheck.dots.portraits import Laid, lay, paint
from aligncheck.dots.view import DotView

PX_PER_MM, FINE = 7.0, 4
#: Brightness and the two colour differences of paint and chalk over the bare panel.
PAINT, CHALK = np.array([0.10, 0.16, -0.05]), np.array([0.45, 0.0, 0.0])


def drawn(
    radius_mm: float, count: int = 12, seed: int = 0, chalk: bool = True
) -> tuple[DotView, np.ndarray, np.ndarray]:
    """A view of `count` domes lit from the left, chalk lines across the panel under them; true places and radii."""
    rng = np.random.default_rng(seed)
    side = int(np.ceil(np.sqrt(count)))
    pitch = 2 * radius_mm + 5
    size = round(side * pitch * PX_PER_MM)
    y, x = (np.mgrid[0 : size * FINE, 0 : size * FINE] + 0.5) / (FINE * PX_PER_MM)
    image = np.zeros((size * FINE, size * FINE, 3), np.float32)
    places = np.array([[(k % side + 0.5) * pitch, (k // side + 0.5) * pitch] for k in range(count)])
    places = places + rng.uniform(-0.4, 0.4, places.shape)
    radii = radius_mm * np.exp(rng.normal(0, 0.03, count))
    if chalk:
        # A stroke past each dot, in another direction at each, as a ring passes the dots of a panel.
        for k, place in enumerate(places):
            way = 2 * np.pi * k / count
            past = (x - place[0]) * np.cos(way) + (y - place[1]) * np.sin(way) - 0.9 * radius_mm
            near = np.maximum(np.abs(x - place[0]), np.abs(y - place[1])) < pitch / 2
            image[(np.abs(past) < 0.5) & near] = CHALK
    for place, radius in zip(places, radii, strict=True):
        u, v = (x - place[0]) / radius, (y - place[1]) / radius
        inside = np.hypot(u, v) < 1
        shade = 1 - 0.35 * u[inside]
        glint = 0.5 * (np.hypot(u[inside] + 0.4, v[inside]) < 0.15)
        image[inside] = shade[:, None] * PAINT + glint[:, None] * (1, 0, 0)
    small = cv2.resize(image, (size, size), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), 0.8)
    # Files keep colour at half resolution.
    colour = cv2.resize(small[..., 1:], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    small[..., 1:] = cv2.resize(colour, (size, size), interpolation=cv2.INTER_LINEAR)
    away = (small + rng.normal(0, 0.01, small.shape)).astype(np.float32)
    # Pixel centres lie at whole numbers.
    return DotView(away, away / 0.01, PX_PER_MM, (-0.5, -0.5)), places, radii


@pytest.mark.parametrize("radius_mm", [1.2, 2.5, 5.0])
def test_places_and_radii_come_back_through_chalk_and_shading(radius_mm: float) -> None:
    """Started a third of a millimetre off; chalk hides up to a third of the smallest dots' rims."""
    view, places, radii = drawn(radius_mm)
    rng = np.random.default_rng(1)
    start = places + rng.uniform(-0.3, 0.3, places.shape)
    portrait, laid = paint(view, start, np.ones(len(places)), radius_mm, np.ones(len(places), bool))
    rim, middle = outline(portrait, view)
    found = laid.xy_mm + laid.ratio[:, None] * middle
    assert np.hypot(*(found - places).T).max() < (0.06 if radius_mm > 2 else 0.13)
    assert np.abs(laid.ratio * rim - radii).max() < 0.06


def test_bare_panel_is_unlike_and_dots_are_like() -> None:
    view, places, _ = drawn(2.5)
    portrait, laid = paint(view, places, np.ones(len(places)), 2.5, np.ones(len(places), bool))
    assert laid.likeness.min() > 0.5
    bare = places + (2.5 + 2.5, 0.0)
    assert lay(view, portrait, Laid.at(bare[:8], np.ones(8)), steps=1).likeness.max() < 0.2


def test_a_larger_dot_is_told_by_its_ratio() -> None:
    """Its like are 2.5 mm in radius, it has 3.2; the claimed spread is far smaller than the difference."""
    view, places, _ = drawn(2.5)
    big, own, _ = drawn(3.2, count=1, chalk=False)
    portrait, _ = paint(view, places, np.ones(len(places)), 2.5, np.ones(len(places), bool))
    laid = lay(big, portrait, Laid.at(own, np.full(1, 1.2)), steps=8)
    assert laid.ratio[0] == pytest.approx(3.2 / 2.5, abs=0.05)
    assert laid.ratio_sd[0] < 0.05
