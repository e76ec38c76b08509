"""Layouts that a rule book or a definition fixes, drawn exactly, photographed by the renderer and measured back."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.checking import Check, check
from aligncheck.layout import Layout
from tests.closeness import assert_mostly_within, assert_within
from tests.outside.data import published
from tests.render import Drawing, Light, Panel, Ring, Scene, Spoke, Table, photograph


def spoke(angle_deg: float, inner: float, outer: float) -> Spoke:
    a = np.radians(angle_deg)
    out = np.array([np.sin(a), -np.cos(a)])
    (x0, y0), (x1, y1) = inner * out, outer * out
    return Spoke((float(x0), float(y0)), (float(x1), float(y1)), 1.0)


def measured(drawing: Drawing, side_mm: float, layout: Layout, folder: Path) -> Check:
    panel = Panel(side_mm, side_mm, colour="#23262b")
    scene = Scene(panel, Table("plain", "#b9b4a8"), Light((-500, -300, 1200))).seen(
        (2400, 1800), tilt_deg=11, azimuth_deg=165, roll_deg=-2, fill=0.9, k1=-0.015
    )
    path = photograph(drawing, scene, 5).save(folder / "panel.jpg")
    return check(path, (side_mm, side_mm), layout)


def dartboard_radii() -> list[float]:
    """The six radii of a regulation board: bulls, inside and outside of treble and double."""
    data = published("dartboard")
    width = data["ring_width_mm"][0]
    outer = [data["treble_outer_radius_mm"][0], data["double_outer_radius_mm"][0]]
    bulls = [data["inner_bull_diameter_mm"][0] / 2, data["outer_bull_diameter_mm"][0] / 2]
    return sorted([*bulls, *outer, *(r - width for r in outer)])


@pytest.fixture(scope="module")
def dartboard(tmp_path_factory: pytest.TempPathFactory) -> Check:
    data, radii = published("dartboard"), dartboard_radii()
    step = 360 / data["sectors"]
    drawing = Drawing(
        segments=data["sectors"],
        spokes=tuple(spoke(data["first_boundary_deg"] + step * k, radii[1], radii[-1]) for k in range(data["sectors"])),
        rings=tuple(Ring((0.0, 0.0), r, 1.0) for r in radii),
        ragged=0.05,
    )
    layout = Layout(segments=data["sectors"], ring_radii_mm=tuple(radii))
    return measured(drawing, 381.0, layout, tmp_path_factory.mktemp("dartboard"))


def test_dartboard_has_twenty_sectors(dartboard: Check) -> None:
    """Twenty boundaries 18 degrees apart, the first 9 degrees from the top; none is out."""
    assert dartboard.marks.segments == 20
    assert len(dartboard.drift.spokes) == 20
    assert dartboard.drift.rotation_deg is not None
    assert_within(dartboard.drift.rotation_deg, dartboard.drift.rotation_u95_deg or 0.0, 9.0, at_most=0.2)
    ideal = [9.0 + 18 * k for k in range(20)]
    errors = [s.angle_deg - a for s, a in zip(dartboard.drift.spokes, ideal, strict=True)]
    assert_mostly_within(errors, [s.angle_u95_deg for s in dartboard.drift.spokes])
    assert not [s for s in dartboard.drift.spokes if s.verdict == "out"]


def test_dartboard_radii(dartboard: Check) -> None:
    """Treble and double rings are found with their radii; the rule book's own limit of 0.2 mm is within reach."""
    found = {r.ideal_radius_mm: r for r in dartboard.drift.rings}
    assert set(found) >= set(dartboard_radii()[2:])
    for radius in dartboard_radii()[2:]:
        assert_within(found[radius].radius_mm, found[radius].radius_u95_mm, radius, at_most=0.2)
        assert found[radius].verdict == "within"


def test_clock_face(tmp_path: Path) -> None:
    """Twelve marks of 30 degrees and no ring but one: twelve segments, the first at 12 o'clock."""
    drawing = Drawing(
        segments=12, spokes=tuple(spoke(30 * k, 20, 90) for k in range(12)), rings=(Ring((0.0, 0.0), 90.0, 1.0),)
    )
    found = measured(drawing, 254.0, Layout(), tmp_path)
    assert found.marks.segments == 12
    assert found.drift.rotation_deg is not None
    assert_within((found.drift.rotation_deg + 15) % 30 - 15, found.drift.rotation_u95_deg or 0.0, 0.0, at_most=0.3)
    errors = [(s.angle_deg - 30 * k + 180) % 360 - 180 for k, s in enumerate(by_hour(found))]
    assert_mostly_within(errors, [s.angle_u95_deg for s in by_hour(found)])


def by_hour(found: Check) -> list:
    """Spokes from 12 o'clock on, also where the first lies a hair before it."""
    return sorted(found.drift.spokes, key=lambda s: (s.angle_deg + 15) % 360)
