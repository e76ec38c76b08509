"""Putting a piece back, on rendered photos with a known move."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.centrepiece import find_centrepiece
from aligncheck.drift import measure_drift
from aligncheck.errors import CentrepieceError
from aligncheck.marks import Marks
from aligncheck.placement import Arranged, find_placement
from aligncheck.placement.turns import Motion
from aligncheck.words.placing import headline, is_back
from tests.centrepiece.scenes import petals, photo_and_drift, taken
from tests.closeness import assert_within

HEIGHT = 4.0
ONE, OTHER = (("tilt_deg", 12.0), ("azimuth_deg", 150.0)), (("tilt_deg", 14.0), ("azimuth_deg", 220.0))


def arranged(centre: tuple[float, float], turn_deg: float, view=ONE, count: int = 5) -> Arranged:
    # Petals of unlike length: a flower that repeats exactly could be turned by a petal unnoticed.
    piece = petals(centre=centre, turn_deg=turn_deg, height_mm=HEIGHT, colour="#d8a030", count=count)
    outline = np.array(piece.outline_mm) - centre
    angle = np.degrees(np.arctan2(outline[:, 0], -outline[:, 1])) - turn_deg
    outline *= (1 + 0.06 * np.cos(np.radians(angle)))[:, None]
    piece = replace(piece, outline_mm=tuple(map(tuple, (outline + centre).tolist())))
    photo, drift = photo_and_drift(taken(1, (piece,), view))
    found = find_centrepiece(photo, drift, height_mm=HEIGHT)
    assert found is not None
    return Arranged(photo, drift, found, "earlier.jpg")


@pytest.mark.parametrize("height", [HEIGHT, None], ids=["height given", "height unknown"])
def test_shift_and_turn_between_two_views(height: float | None) -> None:
    """The known move is found within its intervals, though the camera stood elsewhere."""
    moved = find_placement(arranged((2.0, 1.0), 7.0, OTHER), arranged((-0.5, -1.0), 3.0), height)
    # The plan's middle lies off its centre by a little, so a turn of 4 degrees moves it by less than 0.1 mm more.
    assert_within(moved.dx_mm, moved.dx_u95_mm + 0.1, 2.5, at_most=3.1)
    assert_within(moved.dy_mm, moved.dy_u95_mm + 0.1, 2.0, at_most=3.1)
    assert_within(moved.turn_deg, moved.turn_u95_deg, 4.0, at_most=1.5)
    if height is not None:
        assert max(moved.dx_u95_mm, moved.dy_u95_mm) < 1.0
        words = headline(moved)
        assert words[0] == "Put it back"
        assert "left" in words[1] and "up" in words[1] and "anticlockwise" in words[1]


def test_nobody_touched_it() -> None:
    """Seen from elsewhere a raised piece seems to move; given its height it lies where it lay."""
    moved = find_placement(arranged((-0.5, -1.0), 3.0, OTHER), arranged((-0.5, -1.0), 3.0), HEIGHT)
    assert_within(moved.dx_mm, moved.dx_u95_mm, 0.0, at_most=1.0)
    assert_within(moved.dy_mm, moved.dy_u95_mm, 0.0, at_most=1.0)
    assert is_back(moved)
    assert headline(moved)[0] == "It lies where it lay"


def test_the_earlier_outline_is_drawn_where_the_present_camera_would_see_it() -> None:
    """Picture and figure agree: the drawn earlier outline, moved, is the present one."""
    now, earlier = arranged((2.0, 1.0), 7.0, OTHER), arranged((-0.5, -1.0), 3.0)
    moved = find_placement(now, earlier, HEIGHT)
    middle = moved.earlier_outline_mm.mean(0)
    ahead = Motion(middle, -np.array(moved.back_mm), moved.turn_deg)(moved.earlier_outline_mm)
    present = now.piece.outline_mm
    away = [np.hypot(*(present - p).T).min() for p in ahead[::20]]
    assert float(np.median(away)) < 0.6


def test_another_piece_is_refused() -> None:
    """A piece with another outline cannot be put back by this photo."""
    earlier, now = arranged((-0.5, -1.0), 3.0), arranged((-0.5, -1.0), 3.0, OTHER)
    odd = now.piece.outline_mm.copy()
    far = odd[:, 0] > 0
    odd[far, 0] *= 0.4
    odd[:, 1] *= 1.3
    with pytest.raises(CentrepieceError, match="another outline"):
        find_placement(replace(now, piece=replace(now.piece, outline_mm=odd)), earlier, HEIGHT)


def test_another_panel_is_refused() -> None:
    """Marks that lie elsewhere mean another panel."""
    earlier, now = arranged((-0.5, -1.0), 3.0), arranged((-0.5, -1.0), 3.0, OTHER)
    marks = now.drift.marks
    with pytest.raises(CentrepieceError, match=r"earlier\.jpg shows another panel"):
        find_placement(replace(now, drift=measure_drift(_redrawn(marks))), earlier, HEIGHT)


def _redrawn(marks: Marks) -> Marks:
    """The same spokes turned by ten degrees, other rings."""
    turn = Motion(marks.centre.xy_mm, np.zeros(2), 10.0)
    spokes = tuple(replace(s, inner_mm=turn(s.inner_mm), outer_mm=turn(s.outer_mm), strokes=()) for s in marks.spokes)
    rings = tuple(replace(r, radius_mm=r.radius_mm + 5.0) for r in marks.rings)
    return replace(marks, spokes=spokes, rings=rings)
