"""The panel is found on whatever it lies on, and what cannot be measured is refused with its reason."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from aligncheck.errors import PanelError, PhotoError
from aligncheck.panel.outlines import clockwise
from aligncheck.photo import Camera, Photo
from tests.panel.scenes import Taken, found_in, taken
from tests.render import Slab, Table, by_hand, ordinary_scene, photograph
from tests.truth import true_panel

#: Wrong means another outline; a right one at 3.5 px per mm is good to some tenths of a millimetre.
RIGHT_MM = 1.0
NAVY, GREY = "#22305a", "#5a5a5c"


@pytest.fixture(scope="module")
def plain() -> Taken:
    return taken(1)


def test_a_plain_panel_is_found_and_its_interval_holds(plain):
    panel = found_in(plain.photo)
    assert plain.worst_corner_mm(panel) < min(RIGHT_MM, 2 * max(panel.corner_u95_mm))
    assert clockwise(panel.corners_px)


def test_a_mirrored_photo_gives_the_mirrored_corners(plain):
    """The same evidence seen in a mirror must lead to the same outline, to the rounding of the lines' grid."""
    width = plain.photo.width_px
    panel = found_in(plain.photo)
    mirrored = found_in(plain.with_pixels(plain.photo.rgb[:, ::-1]))
    back = mirrored.corners_px[[1, 0, 3, 2]].copy()
    back[:, 0] = width - 1 - back[:, 0]
    np.testing.assert_allclose(back, panel.corners_px, atol=0.5)


def test_it_is_found_without_a_word_from_the_camera(plain):
    from aligncheck.photo import Photo

    panel = found_in(Photo(plain.photo.rgb))
    assert plain.worst_corner_mm(panel) < RIGHT_MM


def test_it_is_found_in_a_crop_far_off_the_lenss_middle():
    """Its file still tells the whole photo's focal length, and the picture's middle is not the lens's."""
    from aligncheck.photo import Photo

    shot = taken(5, tilt_deg=24.0)
    low, high = shot.panel.corners_px.min(0), shot.panel.corners_px.max(0)
    left, top, right, bottom = int(low[0] - 15), int(low[1] - 30), int(high[0] + 160), int(high[1] + 20)
    cut = Photo(np.ascontiguousarray(shot.photo.rgb[top:bottom, left:right]), camera=shot.photo.camera)
    assert cut.cropped
    found = found_in(cut)
    apart = np.linalg.norm(found.corners_px + (left, top) - shot.panel.corners_px, axis=1) / shot.panel.px_per_mm()
    assert apart.max() < RIGHT_MM


@pytest.mark.parametrize(
    ("what", "case"),
    [
        ("table in the panel's colour", {"colour": GREY, "table": Table("wood", GREY, strength=0.15)}),
        ("turned sheet in the panel's colour", {"slabs": (Slab((3, -4), (334, 330), 1.4, NAVY),)}),
        (
            "sheet all round by one width",
            {
                "colour": "#cfc6b0",
                "table": Table("plain", "#d8d5cf"),
                "slabs": (Slab((0.4, 0.3), (332, 332), 0, "#dfdcd2"),),
            },
        ),
        ("something over one side", {"slabs": (Slab((150, 20), (120, 30), 30, "#e0d090", over_panel=True),)}),
        ("border drawn along the sides", {"border_mm": 12.0}),
        ("border so near to the sides that it hides them", {"border_mm": 6.0}),
        ("border nearer still, two of its lines and two sides a square", {"border_mm": 4.0}),
        ("cutting mat", {"table": Table("mat", "#4f8f78", strength=0.06)}),
    ],
)
def test_hard_beds(what, case):
    shot = taken(7, **case)
    assert shot.worst_corner_mm(found_in(shot.photo)) < RIGHT_MM, what


@pytest.mark.parametrize("seed", [4, 13, 20])
def test_a_panel_on_a_larger_square_board_is_the_panel(seed: int) -> None:
    """Half as large again, the board is the clearer rectangle, and the panel lies further in than its bands reach."""
    scene = ordinary_scene(seed, (1600, 1200)).seen((1600, 1200), f35_mm=26.0, tilt_deg=12.0, fill=0.55)
    board = Slab((6.0, -4.0), (450.0, 450.0), 2.0, "#7a7f86")
    shot = photograph(by_hand(seed), replace(scene, table=replace(scene.table, slabs=(board,))), seed)
    found = found_in(Photo(shot.pixels, camera=Camera(f35_mm=26.0)))
    assert np.abs(true_panel(shot.truth).to_panel(found.corners_px) - found.corners_mm).max() < RIGHT_MM


def test_a_painted_border_belongs_to_the_panel(plain):
    """A border in another colour leaves a rectangle of the same proportions inside; the panel is the outer one."""
    from aligncheck.panel.panel import nominal_corners

    half = nominal_corners(304.8, 304.8)
    inner = plain.panel.to_photo(half - 14 * np.sign(half))
    ring = np.zeros(plain.photo.rgb.shape[:2], np.uint8)
    for corners, value in ((plain.panel.to_photo(half), 255), (inner, 0)):
        cv2.fillPoly(ring, [np.round(corners * 16).astype(np.int32)], value, cv2.LINE_AA, 4)
    share = cv2.GaussianBlur(ring, (0, 0), 0.8)[..., None] / 255
    # Paint and table mix in light, as the lens blurs them, not in codes.
    paint = (np.array([150, 60, 50]) / 255) ** 2.2
    light = (plain.photo.rgb / 255.0) ** 2.2 * (1 - share * 0.8) + share * 0.8 * paint
    pixels = np.round(255 * light ** (1 / 2.2))
    assert plain.worst_corner_mm(found_in(plain.with_pixels(pixels.astype(np.uint8)))) < RIGHT_MM


def test_an_oblong_panel_given_turned_is_turned_with_a_note():
    shot = taken(3, size_mm=(203.2, 304.8))
    panel = found_in(shot.photo, (304.8, 203.2))
    assert (panel.width_mm, panel.height_mm) == (203.2, 304.8)
    assert [n.code for n in panel.notes] == ["panel_turned"]
    assert "203.2 x 304.8 mm" in panel.notes[0].text
    assert shot.worst_corner_mm(panel) < RIGHT_MM


def lowest_corner(shot: Taken) -> int:
    return int(np.sort(shot.panel.corners_px[:, 1])[2])


def test_a_panel_cut_off_below_is_refused(plain):
    height = np.ptp(plain.panel.corners_px[:, 1])
    cut = plain.photo.rgb[: int(lowest_corner(plain) - 0.08 * height)]
    with pytest.raises(PanelError, match="cut off by the edge"):
        found_in(plain.with_pixels(cut))


def test_two_marked_panels_are_refused(plain):
    """The same photo twice, side by side, seen by a lens so long that both are panels in front of it."""
    x0 = int(plain.panel.corners_px[:, 0].min()) - 40
    x1 = int(plain.panel.corners_px[:, 0].max()) + 40
    half = plain.photo.rgb[:, x0:x1]
    with pytest.raises(PanelError) as error:
        found_in(plain.with_pixels(np.hstack([half, half])))
    assert error.value.code in ("two_panels", "outline_doubtful")


def test_out_of_focus_is_refused(plain):
    with pytest.raises(PhotoError, match="blurred"):
        found_in(plain.with_pixels(cv2.GaussianBlur(plain.photo.rgb, (0, 0), 9)))


def test_a_square_panel_is_not_an_oblong_one(plain):
    with pytest.raises(PanelError, match="not 300 x 600 mm") as error:
        found_in(plain.photo, (300.0, 600.0))
    assert error.value.code == "size_mismatch"


def test_a_bare_table_holds_no_panel(plain):
    bare = plain.photo.rgb[:160]
    bare = np.vstack([bare, bare[::-1]] * 3)[:900]
    with pytest.raises(PanelError, match="No panel found"):
        found_in(plain.with_pixels(bare))
