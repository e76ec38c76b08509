"""Where a side was found at the foot of its side face, the fainter edge of the face inside it is seen and measured."""

import numpy as np
import pytest
from scipy.special import ndtr

from aligncheck.geometry.srgb import coded
from aligncheck.lens import Lens
from aligncheck.panel import find_panel
from aligncheck.panel.edges import BLUR_PX, Edges
from aligncheck.panel.inner_edge import inner_edges
from aligncheck.photo import Camera, Photo
from tests.bench.coverage_cases import CASES
from tests.render import Light, Panel, Scene, Table, by_hand, photograph
from tests.truth import true_panel

SIZE_PX = 500
#: The outline in the picture: its foot on the right lies here.
LOW, HIGH = 100.0, 400.0
CORNERS = np.array([[LOW, LOW], [HIGH, LOW], [HIGH, HIGH], [LOW, HIGH]])
STRAIGHT = Lens(1200.0, 249.5, 249.5)
#: Slants of a panel seen from the right.
SLANTS = np.array([-0.3, 0.05, -0.3, -0.5])


def pictured(*right: tuple[float, float], face: float = 0.03, table: float = 0.4) -> np.ndarray:
    """A dark square on a bright table; `right` are (px inside the right side, light from there outward), in order."""
    rng = np.random.default_rng(4)
    y, x = np.mgrid[:SIZE_PX, :SIZE_PX].astype(float)
    light, level = np.full(x.shape, face), face
    for inside, next_level in right:
        light += (next_level - level) * ndtr((x - HIGH + inside) / 0.9)
        level = next_level
    light += (table - level) * ndtr((x - HIGH) / 0.9)
    outside = np.maximum.reduce([LOW - x, LOW - y, y - HIGH])
    light += (table - light) * ndtr(outside / 0.9)
    light *= 1 + rng.normal(0, 0.04, light.shape)
    codes = np.round(255 * coded(np.clip(light, 0, 1))).astype(np.uint8)
    return np.repeat(codes[..., None], 3, axis=2)


def inner_of(picture: np.ndarray, depth_mm: float | None = 18.0, px_per_mm: float = 6.0) -> list[Edges | None]:
    return inner_edges(picture, CORNERS, STRAIGHT, SLANTS, np.full(4, px_per_mm), depth_mm, 1.0, [BLUR_PX] * 4)


@pytest.mark.parametrize("width_px", [5.0, 7.4])
@pytest.mark.parametrize("wall", [0.012, 0.09])
def test_the_face_ends_where_its_light_does(width_px: float, wall: float) -> None:
    """Half the light of the face, or three times as much: the table is far brighter than both."""
    top, right, bottom, left = inner_of(pictured((width_px, wall)))
    assert top is None and bottom is None and left is None
    assert right is not None
    assert np.median(right.points_px[:, 0]) == pytest.approx(HIGH - width_px, abs=0.2)


def test_a_wide_face_of_a_deep_canvas_ends_where_its_light_does() -> None:
    """5.5 mm of it: where its foot was taken for the side, the slants are those of a panel turned by degrees."""
    right = inner_of(pictured((33.0, 0.012)), depth_mm=38.0)[1]
    assert right is not None
    assert np.median(right.points_px[:, 0]) == pytest.approx(HIGH - 33.0, abs=0.2)


@pytest.mark.parametrize(
    ("what", "right"),
    [
        ("nothing", ()),
        ("a line with the face again behind it", ((12.0, 0.12), (8.0, 0.03))),
        ("a film of wiped chalk", ((8.0, 0.034),)),
        ("too far in for a face of this thickness", ((16.0, 0.012),)),
    ],
)
def test_what_ends_no_face(what: str, right: tuple[tuple[float, float], ...]) -> None:
    assert inner_of(pictured(*right)) == [None] * 4, what


def test_a_thin_board_has_no_side_face_so_wide() -> None:
    assert inner_of(pictured((7.4, 0.012)), depth_mm=3.0) == [None] * 4


def test_a_dark_canvas_on_a_bright_cloth_ends_at_its_face() -> None:
    """Seen from straight above its lower side: a millimetre and a half of its side face shows, as dark as the face."""
    panel = Panel(depth_mm=18.0, colour="#1b1b1d", edge_round_mm=0.3)
    scene = Scene(panel, Table("cloth", "#c9c2b4", strength=0.12), Light((-300.0, -700.0, 900.0), ambient=0.5))
    scene = scene.seen((2048, 1536), f35_mm=26.0, tilt_deg=29.0, azimuth_deg=180.0, fill=0.8)
    shot = photograph(by_hand(5), scene, 5)
    found = find_panel(Photo(shot.pixels, camera=Camera(f35_mm=26.0)), 304.8, 304.8, depth_mm=18.0)
    true = true_panel(shot.truth)
    errors = np.linalg.norm(found.to_panel(true.corners_px) - true.to_panel(true.corners_px), axis=1)
    assert (errors < np.array(found.corner_u95_mm)).all()
    assert errors.max() < 0.4


def test_a_face_as_wide_as_the_told_thickness_shows_needs_no_better_shape() -> None:
    """The outline with the foot of the side face, 4 mm further out, suits the camera a little better."""
    deep = next(case for case in CASES if case.name == "deep")
    drawing, scene = deep.build(75057, (2592, 1944))
    shot = photograph(drawing, scene, 75057)
    true = true_panel(shot.truth)
    photo = Photo(shot.pixels, camera=Camera(f35_mm=float(round(shot.truth["camera"]["f35_mm"]))))
    found = find_panel(photo, 304.8, 304.8, depth_mm=scene.panel.depth_mm)
    errors = np.linalg.norm(found.to_panel(true.corners_px) - found.corners_mm, axis=1)
    assert errors.max() < 0.5
