"""A square of a ruled grid is no panel, though it looks like one; a real panel on the same grid is."""

import cv2
import numpy as np
import pytest

from aligncheck.errors import AligncheckError
from aligncheck.panel import find_panel
from aligncheck.panel.cell import is_cell
from aligncheck.panel.small import SmallView
from tests.panel.drawn import as_photo, codes

SIDE = 420


def ruled(cells: int) -> np.ndarray:
    """Linear light of a grey table with `cells` x `cells` pale squares between broad dark lines, all alike."""
    light = np.full((1500, 2000), 0.5)
    first = 1000 - cells * SIDE // 2, 750 - cells * SIDE // 2
    for row in range(cells):
        for column in range(cells):
            x, y = first[0] + column * SIDE, first[1] + row * SIDE
            light[max(y + 12, 0) : y + SIDE - 12, max(x + 12, 0) : x + SIDE - 12] = 0.05
    return np.repeat(cv2.GaussianBlur(light, (0, 0), 1.2)[..., None], 3, axis=2)


def corners() -> np.ndarray:
    half = SIDE / 2 - 12
    return np.array([1000, 750]) + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


@pytest.mark.parametrize(("cells", "expected"), [(1, False), (3, True)])
def test_the_middle_square_is_a_cell_only_with_others_around(cells: int, expected: bool) -> None:
    photo = as_photo(codes(ruled(cells)))
    assert is_cell(SmallView.of(photo), corners()) is expected


def test_a_square_among_squares_is_not_taken_for_the_panel() -> None:
    """The block of nine may be (it ends at its corners), one of the nine may not."""
    try:
        found = find_panel(as_photo(codes(ruled(3))), 200, 200)
    except AligncheckError:
        return
    assert np.ptp(found.corners_px, axis=0).min() > 2.5 * SIDE
