"""Turn, mirror and scale the photo or the drawing: how each answer must change, and how it must not."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from aligncheck.checking import Check, check
from aligncheck.photo import Photo, read_photo
from tests.render import Drawing, Light, Panel, Scene, Table, by_hand, photograph

SIDE_MM = 254.0
#: What a second look at the same photo may change, as a share of the stated 95 % uncertainty: pixels are taken up in
#: another order and at other places, but the chalk and its grain are the same.
SAME = 0.5


def scene() -> Scene:
    """An ordinary bench, the photo not square, the camera not straight above."""
    panel = Panel(SIDE_MM, SIDE_MM, colour="#20242c")
    light = Light((-400, -300, 900))
    base = Scene(panel, Table("wood", "#c49a6c"), light)
    return base.seen((2000, 1500), tilt_deg=14, azimuth_deg=200, roll_deg=3, fill=0.86, k1=0.01)


def drawing(rotation_deg: float = 4.0) -> Drawing:
    """Lopsided: nine spokes, no side like another."""
    return by_hand(11, (SIDE_MM, SIDE_MM), 9, 12.0, 7, rotation_deg=rotation_deg, ghosts=1)


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Photo:
    path = tmp_path_factory.mktemp("symmetry") / "panel.jpg"
    return read_photo(photograph(drawing(), scene(), 1).save(path))


@pytest.fixture(scope="module")
def plain(photo: Photo) -> Check:
    return measured(photo)


def measured(photo: Photo, side_mm: float = SIDE_MM) -> Check:
    return check(photo, (side_mm, side_mm))


def matched(one: Check, other: Check, angle: Callable[[float], float]) -> Iterator[tuple]:
    """Spokes of `one` with those of `other`, whose angle should be angle(that of one)."""
    assert len(one.drift.spokes) == len(other.drift.spokes) == 9
    for a in one.drift.spokes:
        wanted = angle(a.angle_deg) % 360
        b = min(other.drift.spokes, key=lambda s: abs((s.angle_deg - wanted + 180) % 360 - 180))
        assert abs((b.angle_deg - wanted + 180) % 360 - 180) < SAME * (a.angle_u95_deg + 1e-3)
        yield a, b


def assert_same_rings(one: Check, other: Check, scale: float = 1.0) -> None:
    assert [r.number for r in one.drift.rings] == [r.number for r in other.drift.rings]
    for a, b in zip(one.drift.rings, other.drift.rings, strict=True):
        assert abs(a.radius_mm * scale - b.radius_mm) < SAME * a.radius_u95_mm * scale
        assert abs(a.drift_mm * scale - b.drift_mm) < SAME * a.drift_u95_mm * scale


def test_mirrored_photo_mirrors_every_answer(photo: Photo, plain: Check) -> None:
    """Left for right: angles and moves change sign, radii stay."""
    flipped = measured(replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, ::-1])))
    for a, b in matched(plain, flipped, lambda angle: -angle):
        assert abs(a.move_mm + b.move_mm) < SAME * a.move_u95_mm
        assert abs(a.miss_mm + b.miss_mm) < SAME * a.miss_u95_mm
    x, y = plain.drift.centre_mm
    assert np.hypot(flipped.drift.centre_mm[0] + x, flipped.drift.centre_mm[1] - y) < SAME * plain.drift.centre_u95_mm
    assert_same_rings(plain, flipped)


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_turned_photo_turns_the_angles(photo: Photo, plain: Check, quarters: int) -> None:
    """A photo turned by quarter turns clockwise adds 90 degrees each and changes nothing else."""
    turned = measured(replace(photo, rgb=np.ascontiguousarray(np.rot90(photo.rgb, -quarters))))
    for a, b in matched(plain, turned, lambda angle: angle + 90 * quarters):
        assert abs(a.move_mm - b.move_mm) < SAME * a.move_u95_mm
        assert abs(a.drift_deg - b.drift_deg) < SAME * a.drift_u95_deg
    assert_same_rings(plain, turned)


def test_larger_panel_scales_the_millimetres(photo: Photo, plain: Check) -> None:
    """The same photo of a panel said to be a quarter larger: millimetres by a quarter, degrees the same."""
    larger = measured(photo, SIDE_MM * 1.25)
    for a, b in matched(plain, larger, lambda angle: angle):
        assert abs(1.25 * a.move_mm - b.move_mm) < SAME * 1.25 * a.move_u95_mm
    assert_same_rings(plain, larger, 1.25)


def test_smaller_photo_says_the_same(photo: Photo, plain: Check) -> None:
    """Fewer pixels: the same answers within what both claim."""
    small = cv2.resize(photo.rgb, None, fx=0.75, fy=0.75, interpolation=cv2.INTER_AREA)
    smaller = measured(replace(photo, rgb=small))
    assert len(smaller.drift.spokes) == len(plain.drift.spokes)
    for a, b in zip(plain.drift.spokes, smaller.drift.spokes, strict=True):
        assert abs(a.move_mm - b.move_mm) < np.hypot(a.move_u95_mm, b.move_u95_mm)


def test_turned_layout_turns_only_the_rotation(tmp_path: Path, plain: Check) -> None:
    """The whole drawing turned by 7 degrees on the panel: rotation follows, moves stay within what is claimed."""
    path = photograph(drawing(11.0), scene(), 1).save(tmp_path / "turned.jpg")
    turned = measured(read_photo(path))
    assert turned.drift.rotation_deg is not None and plain.drift.rotation_deg is not None
    change = turned.drift.rotation_deg - plain.drift.rotation_deg
    allowed = np.hypot(turned.drift.rotation_u95_deg, plain.drift.rotation_u95_deg)
    assert abs((change - 7 + 20) % 40 - 20) < allowed
    held = [
        abs(a.move_mm - b.move_mm) < np.hypot(a.move_u95_mm, b.move_u95_mm)
        for a, b in zip(plain.drift.spokes, turned.drift.spokes, strict=True)
    ]
    assert sum(held) >= 8
