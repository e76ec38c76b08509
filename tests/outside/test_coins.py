"""A real photograph of round things: the coins of scikit-image's own data, against scikit-image's own segmentation.

Twenty-four coins in uneven light (as shipped in scikit-image). Nothing in it repeats about a centre, so
the circles are asked for, before any design is read into them.
"""

import cv2
import numpy as np
from scipy import ndimage
from skimage import data, filters, measure, segmentation

from aligncheck.dots.candidates import find_candidates
from aligncheck.dots.kinds import circles
from aligncheck.dots.measured import measured
from aligncheck.dots.view import dot_view
from aligncheck.lens import Lens
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.photo.camera import Camera

#: The picture is taken for a photo of a panel from above, a pixel of it 0.25 mm, made this many times larger.
MM, LARGER = 0.25, 6
#: Coins, not the prints on them.
LEAST_DIAMETER_MM = 6.0


def coin_circles() -> tuple[np.ndarray, np.ndarray]:
    """Centres (n, 2) and diameters (n,) in mm as this package sees them."""
    picture = cv2.resize(data.coins(), None, fx=LARGER, fy=LARGER, interpolation=cv2.INTER_CUBIC)
    h, w = picture.shape
    photo = Photo(rgb=np.repeat(picture[..., None], 3, axis=2), camera=Camera(f35_mm=26.0))
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]]) - 0.5
    size = w * MM / LARGER, h * MM / LARGER
    panel = Panel.from_corners(*size, Lens(1.5 * w, (w - 1) / 2, (h - 1) / 2), corners)
    view = dot_view(photo, panel)
    found = circles(view, measured(view, find_candidates(view), np.zeros(2)), np.zeros(2), 1)
    large = 2 * found.radius_mm > LEAST_DIAMETER_MM
    return found.xy_mm[large], 2 * found.radius_mm[large]


def segmented() -> tuple[np.ndarray, np.ndarray]:
    """The same by scikit-image: gradient, markers, watershed, equivalent diameters."""
    picture = data.coins()
    markers = np.where(picture < 30, 1, np.where(picture > 150, 2, 0))
    coins = ndimage.binary_fill_holes(segmentation.watershed(filters.sobel(picture), markers) == 2)
    regions = [r for r in measure.regionprops(measure.label(coins)) if r.area > 200]
    middle = (np.array(picture.shape) - 1) / 2
    centres = np.array([r.centroid for r in regions])
    return MM * (centres - middle)[:, ::-1], MM * np.array([r.equivalent_diameter_area for r in regions])


def test_every_coin_is_found_and_none_invented_with_the_segmentation_s_diameters() -> None:
    (xy, diameter), (their_xy, their_diameter) = coin_circles(), segmented()
    assert len(their_xy) == 24
    assert len(xy) == 24
    apart = np.linalg.norm(xy[:, None] - their_xy[None], axis=-1)
    nearest = apart.argmin(0)
    assert sorted(nearest) == list(range(24))
    # A pixel of the photograph is 0.25 mm, and worn rims are not circles.
    assert np.median(apart.min(0)) < 0.1
    assert apart.min(0).max() < MM * 1.5
    assert np.median(np.abs(diameter[nearest] - their_diameter)) < 0.1
    assert np.abs(diameter[nearest] - their_diameter).max() < MM * 2
