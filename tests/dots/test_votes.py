"""Domes in the panel's own colour, told by their rims alone."""

import cv2
import numpy as np

from aligncheck.dots.view import DotView
from aligncheck.dots.votes import folded_seeds

PX_PER_MM, SIDE_MM, ORDER, RADIUS_MM = 6.6, 160.0, 8, 4.0


def panel(domes: bool) -> tuple[DotView, np.ndarray]:
    """A view with one dome a segment: lit on its left, shaded on its right, on the whole as bright as the panel."""
    rng = np.random.default_rng(3)
    size = round(SIDE_MM * PX_PER_MM)
    middle = (size - 1) / 2
    y, x = (np.mgrid[0:size, 0:size] - middle) / PX_PER_MM
    image = np.zeros((size, size, 3), np.float32)
    places = []
    for k in range(ORDER):
        angle = 0.3 + 2 * np.pi * k / ORDER
        place = 45 * np.array([np.sin(angle), -np.cos(angle)]) + rng.normal(0, 0.3, 2)
        places.append(place)
        u, v = (x - place[0]) / RADIUS_MM, (y - place[1]) / RADIUS_MM
        if domes:
            image[np.hypot(u, v) < 1, 0] = -0.12 * u[np.hypot(u, v) < 1]
    image = cv2.GaussianBlur(image, (0, 0), 0.8) + rng.normal(0, 0.01, image.shape)
    away = image.astype(np.float32)
    return DotView(away, away / 0.01, PX_PER_MM, (middle, middle)), np.array(places)


def test_a_seed_lies_in_every_dome_and_has_its_size() -> None:
    view, places = panel(domes=True)
    seeds = folded_seeds(view, np.zeros(2), ORDER)
    off = np.hypot(*np.moveaxis(seeds[:, None, :2] - places, -1, 0))
    like = np.abs(np.log(seeds[:, 2] / RADIUS_MM)) < 0.15
    assert (np.where(like[:, None], off, np.inf).min(0) < 1.0).all()


def test_the_clearest_seed_is_far_clearer_than_what_noise_gives() -> None:
    with_domes, without = (folded_seeds(panel(domes)[0], np.zeros(2), ORDER) for domes in (True, False))
    assert with_domes[:, 3].max() > 3 * without[:, 3].max(initial=0.0)
