"""The renderer's own honesty: what it draws lies where its truth says."""

import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image, ImageOps

from aligncheck.panel import flat_view
from tests.render import (
    Dot,
    Drawing,
    Finish,
    Light,
    Panel,
    Petal,
    Ring,
    Scene,
    Spoke,
    Table,
    by_hand,
    flower,
    ordinary_scene,
)
from tests.render.finish import develop
from tests.render.photograph import lean_of_edge, photograph
from tests.truth import true_lens, true_panel

SIZE = (1200, 900)  # not square, so that swapped axes show
CLEAN = Finish(noise=0.0, blur_px=0.6, jpeg_quality=98, exposure=0.9)


def clean_scene(**how: float) -> Scene:
    """Even light, a light table, no dust: only geometry is left."""
    panel = Panel(
        200.0, 150.0, surface_strength=0.0, corner_shift_mm=((0.3, -0.2), (0.1, 0.2), (-0.3, 0.2), (-0.1, -0.2))
    )
    light = Light((0, 0, 5000), ambient=0.9, contact=0.0, cast=0.0)
    view = {"tilt_deg": 22.0, "azimuth_deg": 140.0, "roll_deg": 6.0, "k1": -0.04, "k2": 0.01} | how
    return Scene(panel, Table("plain", "#d0d0d0", strength=0.0), light, CLEAN).seen(SIZE, **view)


def linear(codes: np.ndarray) -> np.ndarray:
    c = codes / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def test_same_seed_gives_the_same_picture() -> None:
    """A picture can be made again, anywhere."""
    drawing, scene = by_hand(4, (304.8, 304.8), rings=2), ordinary_scene(4, (640, 480))
    one, two = photograph(drawing, scene, 9), photograph(drawing, scene, 9)
    assert np.array_equal(one.pixels, two.pixels)
    assert not np.array_equal(one.pixels, photograph(drawing, scene, 10).pixels)


def test_truth_and_package_agree_on_the_map() -> None:
    """The package's map through the true corners is the renderer's camera."""
    scene = clean_scene()
    truth = photograph(Drawing(), scene).truth
    points = np.random.default_rng(1).uniform(-90, 90, (50, 2)) * (1, 0.75)
    panel = true_panel(truth)
    assert np.abs(panel.to_photo(points) - scene.camera.project_plane(points)).max() < 2e-3
    assert np.abs(panel.to_panel(scene.camera.project_plane(points)) - points).max() < 1e-3
    assert np.abs(panel.camera_position_mm - scene.camera.position_mm).max() < 0.6
    assert true_lens(truth).focal_px == pytest.approx(scene.camera.f_px)


def test_lines_lie_where_they_were_drawn() -> None:
    """The middle of a solid line, across it in linear light, is within 0.01 mm of the truth."""
    spoke = Spoke((5.0, -4.0), (60.0, -48.0), 1.0)
    ring = Ring((3.0, 2.0), 40.0, 1.0)
    for mark in (spoke, ring):
        drawing = Drawing(
            cover=1.0, ragged=0.0, lift_mm=0.0, **({"spokes": (mark,)} if mark is spoke else {"rings": (mark,)})
        )
        picture = photograph(drawing, clean_scene())
        view = flat_view(picture.pixels, true_panel(picture.truth), 6.0)
        light = linear(view.image[..., 1])
        path = mark.paths()[0][20:-20:10] if mark is spoke else mark.path()[:-1:40]
        if mark is spoke:
            normal = np.tile([-(path[-1] - path[0])[1], (path[-1] - path[0])[0]], (len(path), 1))
        else:
            normal = path - mark.centre_mm
        normal = normal / np.hypot(*normal.T)[:, None]
        t = np.arange(-1.5, 1.501, 0.05)
        spots = view.to_view(path[:, None] + t[:, None] * normal[:, None])
        values = cv2.remap(light.astype(np.float32), *np.moveaxis(spots.astype(np.float32), -1, 0), cv2.INTER_LINEAR)
        values -= values[:, :8].mean()
        off = (values * t).sum(1) / values.sum(1)
        assert abs(off.mean()) < 0.01
        assert np.abs(off).max() < 0.05


def test_sides_lie_where_the_truth_says() -> None:
    """Light falls off half way at the panel's side, but for the rounded edge (under 0.12 mm)."""
    picture = photograph(Drawing(), clean_scene(tilt_deg=3.0))
    panel = true_panel(picture.truth)
    view = flat_view(picture.pixels, panel, 8.0, margin_mm=6.0)
    light = linear(view.image[..., 1])
    row = light[int(view.to_view((0, 20))[1])]
    corners = np.array(picture.truth["corners_mm"])
    for edge, x in ((0, corners[[0, 3], 0].mean()), (1, corners[[1, 2], 0].mean())):
        middle = int(view.to_view((x, 0))[0])
        part = row[middle - 16 : middle + 17]
        level = (part.max() + part.min()) / 2
        inside = (part < level).sum()
        # The panel is dark: count its pixels from the inner end of the piece.
        at = middle - 16 + (33 - inside if edge == 0 else inside) - 0.5
        assert abs((at - view.origin_px[0]) / 8.0 - x) < 0.25


def test_file_is_upright_after_its_own_tag() -> None:
    """Every orientation gives the same upright picture, with date, phone and focal length in the file."""
    scene = clean_scene()
    for tag in range(1, 9):
        turned = Scene(scene.panel, scene.table, scene.light, Finish(noise=0, orientation=tag), scene.camera)
        picture = photograph(Drawing(spokes=(Spoke((0, 0), (70, 20)),)), turned)
        stored = Image.open(io.BytesIO(picture.jpeg()))
        assert stored.getexif()[0x0112] == tag
        assert stored.getexif().get_ifd(0x8769)[0xA405] == 26
        upright = np.asarray(ImageOps.exif_transpose(stored))
        assert np.abs(upright.astype(int) - picture.pixels).mean() < 2.0


def test_later_stages_can_be_drawn() -> None:
    """Petals and dots appear in the picture and in the truth; the stage is named after the latest of them."""
    petal = Petal(1, 0, (0.0, -60.0), ((-10.0, -25.0), (10.0, -25.0)))
    dot = Dot((40.0, 30.0), 8.0, "#c02020")
    picture = photograph(Drawing(petals=(petal,), dots=(dot,)), clean_scene())
    assert picture.truth["stage"] == "painted"
    assert picture.truth["petals"][0]["tip_mm"] == [0.0, -60.0]
    x, y = np.round(true_panel(picture.truth).to_photo((40.0, 31.0))).astype(int)
    red, green, _ = picture.pixels[y, x].astype(int)
    assert red > green + 60


def test_noise_is_what_was_asked_for() -> None:
    """Noise at white has the stated spread in linear light."""
    flat = np.full((256, 256, 3), 0.6, np.float32)
    codes = develop(flat, Finish(exposure=1.0, blur_px=0.0, noise=0.02), np.random.default_rng(2))
    assert linear(codes).std() == pytest.approx(0.02 * np.sqrt(0.6 + 0.0625), rel=0.03)


def test_height_shows_by_perspective() -> None:
    """A piece with height is seen further out than its plan, away from the camera, and both reaches are stated."""
    piece = flower((0.0, 0.0), 30.0, height_mm=6.0)
    scene = clean_scene(tilt_deg=25.0)
    truth = photograph(Drawing(pieces=(piece,)), scene).truth
    assert truth["stage"] == "arranged"
    assert truth["centrepiece"]["reach_mm"] == pytest.approx(30.0, abs=0.01)
    away = -np.asarray(scene.camera.position_mm[:2]) / np.hypot(*scene.camera.position_mm[:2])
    seen = np.array(truth["centrepiece"]["seen_outline_mm"])
    assert (seen @ away).max() > (np.asarray(piece.outline_mm) @ away).max() + 2.0


def test_printed_face_lies_where_it_was_printed() -> None:
    """A printed square's middle is found within 0.02 mm of its place."""
    sheet = np.full((600, 800, 3), 255, np.uint8)
    sheet[200:240, 100:140] = 0  # 4 px a mm: middle at x = -100 + 30, y = -75 + 55
    scene = clean_scene()
    printed = Panel(200.0, 150.0, colour="#ffffff", surface_strength=0.0, printed=sheet)
    picture = photograph(Drawing(), Scene(printed, scene.table, scene.light, CLEAN).seen(SIZE, tilt_deg=15.0))
    view = flat_view(picture.pixels, true_panel(picture.truth), 6.0)
    x, y = np.round(view.to_view((-70.0, -20.0))).astype(int)
    dark = 1 - linear(view.image[y - 60 : y + 61, x - 60 : x + 61, 1]) / 0.9
    dark -= np.median(dark)
    rows, columns = np.mgrid[-60:61, -60:61]
    middle = view.to_panel((x + (dark * columns).sum() / dark.sum(), y + (dark * rows).sum() / dark.sum()))
    assert middle == pytest.approx([-70.0, -20.0], abs=0.02)


@pytest.mark.parametrize("diagonals", [False, True])
def test_centre_mark_is_where_its_lines_cross(diagonals: bool) -> None:
    """The true centre mark is the crossing of the two lines that make it."""
    drawn = by_hand(6, diagonals=diagonals)
    for start, end in drawn.diagonals if diagonals else drawn.centre_cross:
        along, off = np.subtract(end, start), np.subtract(drawn.centre_mark_mm, start)
        assert abs(along[0] * off[1] - along[1] * off[0]) / np.hypot(*along) < 1e-9


def test_side_bows_outwards_in_its_middle() -> None:
    """A side that bows by 2 mm lies so much further out in its middle than at its ends, and the same in the mean."""
    scene = clean_scene()
    straight = replace(scene.panel, corner_shift_mm=((0.0, 0.0),) * 4)
    below = 75.0 + np.arange(-4.0, 4.0, 0.05)
    ends = []
    for panel in (straight, replace(straight, side_bow_mm=(0.0, 0.0, 2.0, 0.0))):
        picture = photograph(Drawing(), Scene(panel, scene.table, scene.light, CLEAN).seen(SIZE))
        seen = true_panel(picture.truth).to_photo([[(x, y) for y in below] for x in (-90.0, 0.0, 90.0)])
        light = linear(
            cv2.remap(picture.pixels[..., 1], *np.moveaxis(seen.astype(np.float32), -1, 0), cv2.INTER_LINEAR)
        )
        middle = (light.max() + light.min()) / 2
        ends.append(0.05 * (light < middle).sum(1))
    out = ends[1] - ends[0]
    assert out[1] - out[[0, 2]].mean() == pytest.approx(2.0 * 0.81, abs=0.1)
    assert out[1] == pytest.approx(2.0 / 3, abs=0.1)


@pytest.mark.parametrize("tilt_deg", [0.0, 10.0, 35.0])
def test_a_rounded_edge_leans_where_its_arc_is_seen(tilt_deg: float) -> None:
    """Points of a quarter circle carried along the sight line to the face's plane: they lean as the picture says."""
    radius, tilt = 0.4, np.radians(tilt_deg)
    leans = np.radians(np.linspace(1.0, 89.0 - tilt_deg, 40))
    # Inside the sharp side, the hidden side's sight lines running outwards on their way down.
    seen = radius * (1 - np.sin(leans)) + radius * (1 - np.cos(leans)) * np.tan(tilt)
    outline = radius * (1 - np.cos(tilt)) + radius * (1 - np.sin(tilt)) * np.tan(tilt)
    found = lean_of_edge((seen - outline).astype(np.float32), radius, tilt)
    assert found == pytest.approx(np.sin(leans), abs=2e-3)
    assert lean_of_edge(np.array([0.41], np.float32), radius, tilt) == 0
