"""Which ink belongs to the design, on flat views of discs and strokes."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.margin.design import design_mask
from aligncheck.margin.view import MarginView

PX_PER_MM, SIZE_MM, SEGMENTS = 6.0, 220.0, 10
MIDDLE = (round(SIZE_MM * PX_PER_MM) - 1) / 2
CENTRE = np.zeros(2)


def _view() -> MarginView:
    size = round(SIZE_MM * PX_PER_MM)
    unlike = np.full((size, size), 1.0, np.float32)
    return MarginView(np.zeros((size, size, 3), np.float32), unlike, PX_PER_MM, (MIDDLE, MIDDLE))


def _disc(view: MarginView, radius_mm: float, angle_deg: float, diameter_mm: float) -> None:
    a = np.deg2rad(angle_deg)
    at = np.round(view.to_view((radius_mm * np.sin(a), -radius_mm * np.cos(a)))).astype(int)
    cv2.circle(view.unlike, at.tolist(), round(diameter_mm * PX_PER_MM / 2), 30.0, -1)


def _radius(view: MarginView) -> NDArray[np.float64]:
    y, x = (np.indices(view.unlike.shape) - MIDDLE) / PX_PER_MM
    return np.asarray(np.hypot(x, y), float)


def _dots(view: MarginView) -> None:
    for k in range(SEGMENTS):
        _disc(view, 50.0, 36 * k, 5.0)
        _disc(view, 65.0, 36 * k, 1.2)


def test_dense_dust_is_no_design() -> None:
    """Specks in every segment by chance are passed over, the small dots of a row are not."""
    view = _view()
    _dots(view)
    rng = np.random.default_rng(7)
    for _ in range(200):
        _disc(view, float(np.sqrt(rng.uniform(72**2, 104**2))), float(rng.uniform(0, 360)), 1.0)
    radius = _radius(view)
    mask = design_mask(view, CENTRE, SEGMENTS)
    small = mask & (np.abs(radius - 65) < 2)
    assert cv2.connectedComponents(small.astype(np.uint8))[0] - 1 == SEGMENTS
    assert radius[mask].max() < 71


def test_a_speck_beside_larger_dots_is_dust() -> None:
    view = _view()
    _dots(view)
    for k in range(SEGMENTS):
        _disc(view, 80.0, 36 * k, 5.0)
    _disc(view, 83.5, 36 * 3 + 2.5, 1.0)
    assert _radius(view)[design_mask(view, CENTRE, SEGMENTS)].max() < 82.9


def test_a_tick_that_hangs_on_a_spoke_and_runs_to_the_side() -> None:
    view = _view()
    for k in range(SEGMENTS):
        ends = [(r * np.sin(np.deg2rad(36 * k)), -r * np.cos(np.deg2rad(36 * k))) for r in (20, 104)]
        a, b = np.round(view.to_view(ends)).astype(int).tolist()
        cv2.line(view.unlike, a, b, 30.0, 5)
    # From the spoke at 12 o'clock, whose like ends there, to the side.
    x, y = np.round(view.to_view((0.0, -104.0))).astype(int).tolist()
    cv2.line(view.unlike, (x + 6, y), (x + 6, 0), 30.0, 5)
    rows = np.flatnonzero(design_mask(view, CENTRE, SEGMENTS).any(axis=1))
    assert abs((rows[0] - MIDDLE) / PX_PER_MM + 104) < 2.6
