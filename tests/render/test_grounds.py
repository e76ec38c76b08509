"""Tables of other kinds, a tray around the panel, dark corners: what they must and must not change in a picture."""

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.breadth_cases import KINDS
from tests.render import Drawing, Panel, Scene, Table, Tray, photograph
from tests.render.grounds import GROUNDS, SIDE_PX
from tests.render.scene import Finish

SIZE = (640, 480)
CLEAN = Finish(noise=0.0)


def seen(scene: Scene) -> np.ndarray:
    how = {"tilt_deg": 12.0, "azimuth_deg": 200.0, "fill": 0.55}
    return photograph(Drawing(), replace(scene, finish=CLEAN).seen(SIZE, **how)).pixels.astype(float)


@pytest.mark.parametrize("kind", list(GROUNDS))
def test_a_ground_keeps_its_brightness_and_varies(kind):
    picture = GROUNDS[kind](np.random.default_rng(2), 0.25)
    assert picture.shape[:2] == (SIDE_PX, SIDE_PX)
    assert 0.6 < picture.mean() < 1.4
    assert picture.std() > 0.02
    assert picture.min() > 0


def test_a_tray_leaves_the_face_and_hides_the_table_around():
    plain = Scene(Panel(side_colour="#101010"), Table("plain", "#d8d5cf", strength=0.0))
    bare, framed = seen(plain), seen(replace(plain, tray=Tray(5.0, 20.0, 4.0, "#6b4a2c")))
    camera = plain.seen(SIZE, tilt_deg=12.0, azimuth_deg=200.0, fill=0.55).camera
    on_face = camera.project_plane([(0, 0), (140, 140), (-140, 0)]).round().astype(int)
    on_bar = camera.project_plane([(0, -168), (168, 0), (0, 168), (-168, 0)], 4.0).round().astype(int)
    far = camera.project_plane([(-230, 0), (0, 200)], -3.0).round().astype(int)
    for points, same in ((on_face, True), (on_bar, False), (far, True)):
        change = np.abs(framed - bare)[points[:, 1], points[:, 0]].max(axis=1)
        assert (change < 2).all() if same else (change > 40).all()


def test_corners_are_dark_and_the_middle_is_not():
    scene = Scene(table=Table("plain", "#d8d5cf", strength=0.0))
    how = {"tilt_deg": 0.0, "fill": 0.3}
    pair = [
        photograph(Drawing(), replace(scene, finish=replace(CLEAN, vignette=v)).seen(SIZE, **how)).pixels.astype(float)
        for v in (0.0, 0.5)
    ]
    light = [(p / 255) ** 2.2 for p in pair]
    assert np.allclose(light[1][240, 320], light[0][240, 320], atol=0.01)
    # Half of the light in the very corner.
    assert light[1][2, 2].mean() == pytest.approx(0.5 * light[0][2, 2].mean(), rel=0.05)


def test_a_crop_states_the_whole_photos_lens_in_every_second_photo():
    cropped = next(kind for kind in KINDS if kind.name == "cropped")
    for seed, stale in ((1, True), (2, False)):
        _, scene = cropped.build(seed, (1600, 1200))
        camera = scene.camera
        assert camera.width_px / camera.height_px != pytest.approx(4 / 3, rel=0.01)
        assert (scene.finish.f35_mm is not None) == stale
        inside = camera.project_plane(scene.panel.corners_mm)
        assert (inside > 0).all() and (inside < (camera.width_px, camera.height_px)).all()
