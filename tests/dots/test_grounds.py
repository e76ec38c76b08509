"""Dots on painted circles, on fields of several colours and across their borders are dots as on the bare panel."""

import cv2
import numpy as np

from aligncheck.dots import find_dots
from aligncheck.dots.grounds import other_grounds
from tests.dots.painted import BLUE, GOLD, PIECE, PLUM, RED, WHITE, Kind, Painting, walked

WINE, OCHRE, BLACK = (122, 32, 54), (186, 138, 60), (30, 30, 33)
PX_PER_MM = 4.0


def noise(side_mm: float) -> np.ndarray:
    """A bare panel in units of its own noise."""
    n = round(side_mm * PX_PER_MM)
    return np.random.default_rng(5).normal(0, 1, (n, n, 3)).astype(np.float32)


def dim(seen: np.ndarray) -> np.ndarray:
    """Nothing is white."""
    return np.full(seen.shape[:2], 0.4, np.float32)


def disc(seen: np.ndarray, x_mm: float, radius_mm: float, colour: tuple[float, float, float]) -> None:
    at = (round(x_mm * PX_PER_MM), seen.shape[0] // 2)
    cv2.circle(seen, at, round(radius_mm * PX_PER_MM), colour, -1)


def test_bare_panel_with_large_dots_has_no_other_ground() -> None:
    seen = noise(100)
    for x in (20.0, 45.0, 70.0):
        disc(seen, x, 7.5, (40.0, 10.0, 5.0))
    assert other_grounds(seen, dim(seen), PX_PER_MM) is None


def test_a_painted_circle_is_a_ground_and_a_dot_on_it_or_on_its_border_is_not() -> None:
    """A dot of the circle's own paint beside it is no part of it."""
    seen = noise(120)
    disc(seen, 50.0, 30.0, (30.0, 20.0, -10.0))
    disc(seen, 50.0, 3.0, (0.0, -40.0, 60.0))
    disc(seen, 80.0, 3.0, (0.0, -40.0, 60.0))
    disc(seen, 100.0, 4.0, (30.0, 20.0, -10.0))
    ground = other_grounds(seen, dim(seen), PX_PER_MM)
    assert ground is not None
    middle = ground[ground.shape[0] // 2]
    across = {x: middle[round(x * PX_PER_MM)] for x in (10.0, 40.0, 50.0, 80.0, 100.0)}
    for x in (40.0, 50.0):
        np.testing.assert_allclose(across[x], (30, 20, -10), atol=3)
    for x in (10.0, 100.0):
        np.testing.assert_allclose(across[x], 0, atol=3)
    # Half of that dot lies on either ground: what it hides is between them.
    assert 5 < across[80.0][0] < 25


def test_glare_is_no_ground() -> None:
    seen = noise(120)
    disc(seen, 60.0, 40.0, (50.0, 0.0, 0.0))
    glare = np.where(seen[..., 0] > 25, 1.0, 0.4).astype(np.float32)
    assert other_grounds(seen, dim(seen), PX_PER_MM) is not None
    assert other_grounds(seen, glare, PX_PER_MM) is None


def test_chalk_cuts_a_painted_ground_into_cells_that_are_ground_all_the_same() -> None:
    seen = noise(120)
    disc(seen, 60.0, 50.0, (30.0, 20.0, -10.0))
    for at in range(15, 111, 10):
        for line in (seen[:, round(at * PX_PER_MM) :][:, :5], seen[round(at * PX_PER_MM) :][:5]):
            line[:] = (90.0, 0.0, 0.0)
    # One field is wide, as between a drawing's spokes; the others are narrower than a dot may be.
    seen[160:320, 160:320] = noise(40) + (30, 20, -10)
    ground = other_grounds(seen, dim(seen), PX_PER_MM)
    assert ground is not None
    row = ground[round(71.0 * PX_PER_MM)]
    for x in (21.0, 31.0, 91.0, 101.0):
        np.testing.assert_allclose(row[round(x * PX_PER_MM)], (30, 20, -10), atol=4)


def test_dots_on_painted_circles_are_found_as_on_the_bare_panel() -> None:
    """Rings of dots inside, outside and on the borders; one dot on a circle is missing, and called so."""
    kinds = [*PIECE, *walked(60.0, 5.0, 0.85, 4), Kind(50.0, 15.0, 4.0, PLUM), Kind(62.0, 8.0, 3.0, GOLD)]
    kinds += [Kind(92.0, 7.5 * k, 4.0, (BLUE, WHITE)[k % 2]) for k in range(4)]
    kinds = [one for one in kinds if one.colour != RED]
    painting = Painting(kinds, circles=[(92.0, WINE), (55.0, BLACK), (26.0, OCHRE)], gone={(len(kinds) - 6, 3)})
    photo, marks = painting.draw()
    dots = find_dots(photo, marks, painting.order)
    assert dots is not None
    wanted = np.array([painting.centre_mm(k, s) for k in range(len(kinds)) for s in range(12)])
    got = np.array([d.centre_mm for d in dots.dots]) - marks.centre.xy_mm
    apart = np.hypot(*(wanted[:, None] - got).transpose(2, 0, 1))
    assert (apart.min(0) < 0.8).all()
    assert (apart.min(1) > 0.8).sum() == 1
    (gap,) = dots.missing
    np.testing.assert_allclose(gap.centre_mm - marks.centre.xy_mm, painting.centre_mm(len(kinds) - 6, 3), atol=0.6)


def cut_up(seen: np.ndarray, colour: tuple[float, float, float]) -> None:
    """A painted circle that lines cut into squares of nine mm and less."""
    disc(seen, 60.0, 50.0, colour)
    for at in range(15, 111, 10):
        for line in (seen[:, round(at * PX_PER_MM) :][:, :5], seen[round(at * PX_PER_MM) :][:5]):
            line[:] = (90.0, 0.0, 0.0)


def test_a_ground_is_seen_where_none_of_its_cells_is_wider_than_a_dot() -> None:
    seen = noise(120)
    cut_up(seen, (30.0, 20.0, -10.0))
    seen += np.random.default_rng(6).normal(0, 1, seen.shape).astype(np.float32)
    ground = other_grounds(seen, dim(seen), PX_PER_MM)
    assert ground is not None
    row = ground[round(71.0 * PX_PER_MM)]
    # Between the cells it is carried on: under lines and dots lies the same ground.
    for x in (21.0, 25.6, 61.0, 65.6, 91.0):
        np.testing.assert_allclose(row[round(x * PX_PER_MM)], (30, 20, -10), atol=4)
    np.testing.assert_allclose(ground[8, 8], 0, atol=3)


def test_lit_sides_of_many_domes_are_no_cells_of_a_ground() -> None:
    """They are no discs, and all of one colour, but fall off slowly."""
    seen = noise(120)
    y, x = np.mgrid[: seen.shape[0], : seen.shape[1]] / PX_PER_MM
    for at_x in range(12, 110, 12):
        for at_y in range(12, 110, 12):
            on = (np.hypot(x - at_x, y - at_y) < 5.5) & (x > at_x - 2.5)
            seen[on] = (np.array([40.0, 10.0, 5.0]) + 2.0 * (x - at_x)[on, None] * np.array([1.0, 0.5, 0.5])).astype(
                np.float32
            ) + seen[on]
    assert other_grounds(seen, dim(seen), PX_PER_MM) is None
