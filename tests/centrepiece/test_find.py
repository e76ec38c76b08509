"""A piece on a rendered panel: its outline, its reach, and that nothing is seen where nothing lies."""

import cv2
import numpy as np
import pytest

from aligncheck.centrepiece import find_centrepiece, why_none
from aligncheck.drift import measure_drift
from aligncheck.photo import Photo
from tests.centrepiece.scenes import petals, photo_and_drift, reach_of, taken
from tests.closeness import assert_within
from tests.render import Piece
from tests.truth import true_marks


def overlap(a, b) -> float:
    """Common area of two outlines as a share of both together, on a raster of 0.1 mm."""
    low = np.minimum(a.min(0), b.min(0)) - 1
    size = np.ceil((np.maximum(a.max(0), b.max(0)) + 1 - low) * 10).astype(int)
    masks = []
    for outline in (a, b):
        mask = np.zeros((size[1], size[0]), np.uint8)
        cv2.fillPoly(mask, [np.rint((outline - low) * 10).astype(np.int32)], 1)
        masks.append(mask > 0)
    return float((masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum())


@pytest.mark.parametrize(("seed", "colour"), [(1, "#f4f1ea"), (5, "#2a7a3a"), (6, "#caa26a")], ids=str)
def test_outline_and_reach_of_a_flower(seed: int, colour: str) -> None:
    """The silhouette overlaps the true one by 95 %, and the plan's reach lies in its interval, height given or not."""
    rendered = taken(seed, (petals(colour=colour),))
    photo, drift = photo_and_drift(rendered)
    truth = rendered.truth["centrepiece"]
    plan, seen = np.array(truth["outline_mm"]), np.array(truth["seen_outline_mm"])
    given = find_centrepiece(photo, drift, height_mm=3.0)
    free = find_centrepiece(photo, drift)
    assert given is not None and free is not None
    assert overlap(given.outline_mm, seen) > 0.95
    assert_within(given.seen_reach_mm, given.seen_reach_u95_mm, reach_of(seen, drift.centre_mm), at_most=1.0)
    assert_within(given.reach_mm, given.reach_u95_mm, reach_of(plan, drift.centre_mm), at_most=1.0)
    assert_within(free.reach_mm, free.reach_u95_mm, reach_of(plan, drift.centre_mm), at_most=3.5)
    assert free.reach_u95_mm > given.reach_u95_mm
    assert not given.doubtful


def test_middle_and_turn_of_the_arrangement() -> None:
    """The middle lies where the flower was laid, and its petals' turn against the spokes is found."""
    rendered = taken(1, (petals(centre=(4.0, -3.0), turn_deg=10.0),))
    photo, drift = photo_and_drift(rendered)
    found = find_centrepiece(photo, drift, height_mm=3.0)
    assert found is not None
    own = found.arrangement
    expected = np.array([4.0, -3.0]) - drift.centre_mm
    for value, truth in zip(own.off_centre_mm, expected, strict=True):
        assert_within(value, own.off_centre_u95_mm, truth, at_most=1.0)
    assert own.order == 8
    # Tips stand at 10 degrees + 45 k; the spokes at the rotation + 30 k.
    assert drift.rotation_deg is not None and own.turn_deg is not None and own.turn_u95_deg is not None
    apart = (10.0 + 45.0 * np.arange(8)[:, None] - drift.rotation_deg - 30.0 * np.arange(12) + 180) % 360 - 180
    nearest = apart.ravel()[np.abs(apart).argmin()]
    assert_within(own.turn_deg, own.turn_u95_deg, float(nearest), at_most=4.0)


def test_nothing_lies_on_a_marked_panel() -> None:
    """Marks alone, smudges and ghosts among them, are no piece; the refusal says so."""
    photo, drift = photo_and_drift(taken(1, ()))
    assert find_centrepiece(photo, drift) is None
    assert why_none(photo, drift).code == "nothing_on_panel"


def test_a_hand_over_the_side_is_no_piece() -> None:
    """What reaches over a side of the panel is told by that side."""
    rendered = taken(1, ())
    photo, drift = photo_and_drift(rendered)
    pixels = photo.rgb.copy()
    hand = np.array([[-14, -30], [14, -30], [20, 170], [-20, 170]], float)
    at = drift.marks.panel.to_photo(hand)
    cv2.fillPoly(pixels, [np.rint(at).astype(np.int32)], (205, 160, 135))
    covered = Photo(pixels)
    assert find_centrepiece(covered, drift) is None
    error = why_none(covered, drift)
    assert error.code == "over_side"
    assert error.values == {"side": "bottom"}
    assert "bottom side" in str(error)


def test_a_mirrored_photo_mirrors_the_answer() -> None:
    """Nothing in the search prefers left or right."""
    rendered = taken(5, (petals(colour="#2a7a3a"),))
    photo, drift = photo_and_drift(rendered)
    one = find_centrepiece(photo, drift, height_mm=3.0)
    truth = dict(rendered.truth)
    width = photo.width_px
    flip = [1, 0, 3, 2]
    truth["corners_px"] = [[width - 1 - truth["corners_px"][k][0], truth["corners_px"][k][1]] for k in flip]
    truth["corners_mm"] = [[-truth["corners_mm"][k][0], truth["corners_mm"][k][1]] for k in flip]
    camera = dict(truth["camera"])
    camera["cx"] = width - 1 - camera["cx"]
    truth["camera"] = camera
    for key in ("spokes", "rings"):
        truth[key] = [
            {k: [-v[0], v[1]] if k.endswith("_mm") and isinstance(v, list) and len(v) == 2 else v for k, v in m.items()}
            for m in truth[key]
        ]
    truth["centre_mark_mm"] = [-truth["centre_mark_mm"][0], truth["centre_mark_mm"][1]]
    mirrored = find_centrepiece(
        Photo(np.ascontiguousarray(photo.rgb[:, ::-1])), measure_drift(true_marks(truth)), height_mm=3.0
    )
    assert one is not None and mirrored is not None
    assert abs(one.reach_mm - mirrored.reach_mm) < one.reach_u95_mm
    assert overlap(one.outline_mm, mirrored.outline_mm * (-1, 1)) > 0.97


def test_the_bare_panel_before_agrees() -> None:
    """With a photo of the bare panel the outline is as good, and a piece on it is still the piece."""
    rendered = taken(5, (petals(colour="#2a7a3a"),))
    photo, drift = photo_and_drift(rendered)
    bare, bare_drift = photo_and_drift(taken(5, ()))
    found = find_centrepiece(photo, drift, height_mm=3.0, before=(bare, bare_drift))
    assert found is not None
    assert overlap(found.outline_mm, np.array(rendered.truth["centrepiece"]["seen_outline_mm"])) > 0.95


def test_several_sides_bound_the_height() -> None:
    """Two photos from opposite sides leave less of the height open, and the reach still lies in its interval."""
    piece = petals(height_mm=6.0)
    views = [taken(1, (piece,), (("tilt_deg", 20.0), ("azimuth_deg", a))) for a in (130.0, 230.0)]
    (photo, drift), other = (photo_and_drift(v) for v in views)
    alone = find_centrepiece(photo, drift)
    both = find_centrepiece(photo, drift, others=[other])
    assert alone is not None and both is not None
    assert both.height_mm[1] - both.height_mm[0] < alone.height_mm[1] - alone.height_mm[0]
    truth = reach_of(views[0].truth["centrepiece"]["outline_mm"], drift.centre_mm)
    assert_within(both.reach_mm, both.reach_u95_mm, truth)
    assert both.reach_u95_mm < alone.reach_u95_mm


def test_several_pieces_reach_as_far_as_the_farthest() -> None:
    """A leaf laid beside the flower is a piece of its own, and the reach is the leaf's."""
    angle = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    leaf = np.column_stack([48.0 + 12.0 * np.cos(angle), 6.0 + 5.0 * np.sin(angle)])
    other = Piece(tuple(map(tuple, leaf.tolist())), 2.0, colour="#2a7a3a")
    photo, drift = photo_and_drift(taken(1, (petals(reach_mm=25.0, height_mm=2.0), other)))
    found = find_centrepiece(photo, drift, height_mm=2.0)
    assert found is not None
    assert len(found.pieces_mm) == 2
    assert_within(found.reach_mm, found.reach_u95_mm, reach_of(leaf, drift.centre_mm), at_most=1.0)
    assert overlap(found.pieces_mm[1], leaf) > 0.85  # the plan, seen 2 mm up
