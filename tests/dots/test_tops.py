"""Dots set on the middle of larger dots are dots of their own; highlights and shading are none."""

import cv2
import numpy as np

from aligncheck.dots import Dots, find_dots
from aligncheck.photo import Photo
from tests.dots.painted import BLUE, CENTRE, GOLD, MARGIN_PX, PIECE, PX_PER_MM, RED, SIDE_MM, WHITE, Kind, Painting

BLACK = (28, 28, 30)
TOPPED = [
    Kind(34.0, 0.0, 7.0, RED, ((3.0, GOLD),)),
    Kind(50.0, 15.0, 6.0, WHITE, ((2.4, BLACK),)),
    # Nearly as large as the dot it is set on.
    Kind(64.0, 0.0, 5.0, BLUE, ((3.4, WHITE),)),
    Kind(78.0, 15.0, 11.0, GOLD, ((6.0, RED), (2.6, WHITE))),
    Kind(80.0, 0.0, 6.0, RED),
]


def found_in(painting: Painting) -> Dots:
    photo, marks = painting.draw()
    dots = find_dots(photo, marks, painting.order)
    assert dots is not None
    return dots


def test_dots_on_dots_are_found_with_the_dot_that_they_lie_on() -> None:
    dots = found_in(Painting(TOPPED))
    kinds = [(kind.radius_mm, kind.diameter_mm, kind.on) for kind in dots.kinds]
    wanted = [(one.radius_mm, size) for one in TOPPED for size in (one.diameter_mm, *(t[0] for t in one.tops))]
    assert len(kinds) == len(wanted)
    for radius, size in wanted:
        near = [k for k, (r, d, _) in enumerate(kinds) if abs(r - radius) < 0.4 and abs(d - size) < 0.3]
        assert len(near) == 1, (radius, size)
    assert all(kind.count == 12 for kind in dots.kinds)
    for radius, size, on in kinds:
        below = [kinds[on]] if on is not None else []
        assert all(abs(r - radius) < 0.4 and d > size + 1 for r, d, _ in below)
    assert sum(on is None for _, _, on in kinds) == len(TOPPED)
    assert not dots.missing
    assert not any(d.oversize for d in dots.dots)
    assert dots.arrangement is not None
    assert not dots.arrangement.merged
    # The paint beneath is told apart from the one on top.
    of = zip(dots.dots, dots.arrangement.paint_of, strict=True)
    paint = {kinds[d.kind or 0][:2]: dots.arrangement.paints[p].rgb for d, p in of}
    colours = [colour for one in TOPPED for colour in (one.colour, *(t[1] for t in one.tops))]
    for (radius, size), colour in zip(wanted, colours, strict=True):
        (rgb,) = [rgb for (r, d), rgb in paint.items() if abs(r - radius) < 0.4 and abs(d - size) < 0.3]
        np.testing.assert_allclose([int(rgb[k : k + 2], 16) for k in (1, 3, 5)], colour, atol=20)


def test_a_dot_on_top_that_was_left_out_is_missing_and_no_other() -> None:
    painting = Painting(TOPPED, no_top={(0, 4, 0)})
    (gap,) = found_in(painting).missing
    assert abs(gap.diameter_mm - 3.0) < 0.3
    np.testing.assert_allclose(gap.centre_mm - CENTRE, painting.centre_mm(0, 4), atol=0.8)


def test_where_a_whole_dot_was_left_out_one_is_missing_not_two() -> None:
    painting = Painting(TOPPED, gone={(0, 4)})
    (gap,) = found_in(painting).missing
    assert abs(gap.diameter_mm - 7.0) < 0.3


def test_highlights_and_shade_are_no_dots_on_top() -> None:
    """Lamp beside the camera: every dot has its highlight in the middle, white and sharp on some, broad on others."""
    painting = Painting(PIECE)
    photo, marks = painting.draw()
    codes = photo.rgb.astype(np.float32)
    for kind, one in enumerate(PIECE):
        for k in range(12):
            at = (painting.centre_mm(kind, k) + CENTRE + SIDE_MM / 2) * PX_PER_MM + MARGIN_PX
            glow = np.zeros(codes.shape[:2], np.float32)
            wide = 0.3 * one.diameter_mm * PX_PER_MM
            cv2.circle(glow, tuple(int(v) for v in at), round(wide), 1.0, -1)
            glow = cv2.GaussianBlur(glow, (0, 0), wide / 1.5) if kind % 2 else cv2.GaussianBlur(glow, (0, 0), 1.0)
            codes += 300 * glow[..., None] * (0.4 if kind % 2 else 1.0)
    dots = find_dots(Photo(np.clip(codes, 0, 255).astype(np.uint8)), marks, painting.order)
    assert dots is not None
    assert all(kind.on is None for kind in dots.kinds)
