"""A third photo measures the height; clear pieces and photos of another arrangement are told."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from aligncheck.centrepiece import find_centrepiece
from aligncheck.centrepiece.outline import centroid
from aligncheck.errors import CentrepieceError
from aligncheck.placement import Arranged, find_placement
from tests.centrepiece.scenes import petals, photo_and_drift, taken
from tests.closeness import assert_within
from tests.render import Piece
from tests.render.surfaces import Surface

HEIGHT = 6.0
#: Where the phone stands: tilt and side.
VIEWS = {"earlier": (8.0, 150.0), "now": (14.0, 230.0), "third": (18.0, 90.0)}
BEFORE, AFTER = ((-0.5, -1.0), 3.0), ((2.0, 1.0), 8.0)


def piece_at(place: tuple[tuple[float, float], float], surface: Surface) -> Piece:
    """Petals of unlike length, so that no other turn fits."""
    centre, turn_deg = place
    piece = petals(centre=centre, turn_deg=turn_deg, height_mm=HEIGHT, colour="#caa06a", count=5)
    outline = np.array(piece.outline_mm) - centre
    angle = np.arctan2(outline[:, 0], -outline[:, 1]) - np.radians(turn_deg)
    outline *= (1 + 0.08 * np.cos(angle))[:, None]
    return replace(piece, outline_mm=tuple(map(tuple, (outline + centre).tolist())), surface=surface, seed=4)


@cache
def arranged(place: tuple[tuple[float, float], float], surface: Surface, view: str) -> Arranged:
    tilt, azimuth = VIEWS[view]
    photo, drift = photo_and_drift(
        taken(1, (piece_at(place, surface),), (("tilt_deg", tilt), ("azimuth_deg", azimuth)))
    )
    found = find_centrepiece(photo, drift)
    assert found is not None
    return Arranged(photo, drift, found, f"{view}.jpg")


def true_shift(surface: Surface) -> np.ndarray:
    before, after = (centroid(np.array(piece_at(place, surface).outline_mm)) for place in (BEFORE, AFTER))
    return after - before


@pytest.mark.parametrize("which", ["more_earlier", "more_now"])
def test_a_third_photo_stands_in_for_the_height(which: str) -> None:
    """Two photos of one arrangement tell heights apart from shifts: the interval shrinks and still holds the truth."""
    now, earlier = arranged(AFTER, "cloth", "now"), arranged(BEFORE, "cloth", "earlier")
    third = arranged(BEFORE if which == "more_earlier" else AFTER, "cloth", "third")
    alone = find_placement(now, earlier)
    with_third = find_placement(now, earlier, **{which: [third]})
    shift = true_shift("cloth")
    for value, u95, truth in (
        (with_third.dx_mm, with_third.dx_u95_mm, shift[0]),
        (with_third.dy_mm, with_third.dy_u95_mm, shift[1]),
        (with_third.turn_deg, with_third.turn_u95_deg, 5.0),
    ):
        assert_within(value, u95, float(truth), at_most=0.6)
    assert max(alone.dx_u95_mm, alone.dy_u95_mm) > 2 * max(with_third.dx_u95_mm, with_third.dy_u95_mm)
    assert "placement_height" in {n.code for n in alone.notes}
    assert "placement_height" not in {n.code for n in with_third.notes}


def test_what_shows_through_glass_does_not_hold_it_still() -> None:
    """The panel's marks seen through a clear piece do not move with it: its outline decides, and a note says so."""
    moved = find_placement(arranged(AFTER, "glass", "now"), arranged(BEFORE, "glass", "earlier"), HEIGHT)
    shift = true_shift("glass")
    assert_within(moved.dx_mm, moved.dx_u95_mm, float(shift[0]), at_most=1.2)
    assert_within(moved.dy_mm, moved.dy_u95_mm, float(shift[1]), at_most=1.2)
    assert_within(moved.turn_deg, moved.turn_u95_deg, 5.0, at_most=1.0)
    assert "placement_by_outline" in {n.code for n in moved.notes}


def test_a_third_photo_of_another_arrangement_is_refused() -> None:
    """What was moved in between cannot measure heights."""
    now, earlier = arranged(AFTER, "cloth", "now"), arranged(BEFORE, "cloth", "earlier")
    with pytest.raises(CentrepieceError, match=r"third\.jpg shows the piece elsewhere than now\.jpg"):
        find_placement(now, earlier, more_now=[arranged(BEFORE, "cloth", "third")])
