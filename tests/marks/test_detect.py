"""The rough picture: shade, centre, number of places, rings and construction lines, on drawn layouts."""

import cv2
import numpy as np
import pytest

from aligncheck.errors import MarksError
from aligncheck.geometry.angles import wrap
from aligncheck.lens import Lens
from aligncheck.marks.detect import detect
from aligncheck.marks.find import find_marks
from aligncheck.marks.small_view import small_flat_view
from aligncheck.marks.votes import light_share
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.strokes import ridges
from tests.marks.layouts import DrawnLayout, DrawnRing, even_rings, photograph, wiped

CORNER_LINES = (((-148, -148), (148, 148), 1.0), ((148, -148), (-148, 148), 1.0))


@pytest.mark.parametrize(
    ("segments", "phase_deg", "extra"),
    [
        (3, 20.0, ()),
        (5, 7.0, CORNER_LINES),
        (8, 13.0, CORNER_LINES),
        (12, 4.0, wiped(12, 9.0)),
        (16, 2.0, CORNER_LINES + wiped(16, 8.0)),
        (48, 1.0, ()),
    ],
)
def test_count_is_found_beside_construction_and_wiped_lines(segments, phase_deg, extra):
    """Neither corner-to-corner lines nor an earlier layout's remains change the count or the bearings."""
    layout = DrawnLayout(
        segments, centre_mm=(1.5, -2.0), phase_deg=phase_deg, rings=even_rings(7, 12.7), lines=extra, seed=segments
    )
    seen = detect(*photograph(layout))
    assert seen.light
    assert seen.segments == segments
    assert np.hypot(*(seen.centre_mm - layout.centre_mm)) < 1.0
    off = wrap(seen.directions_deg - seen.places_deg)
    assert np.isfinite(off).all()
    # A centre 1 mm off moves a bearing by 0.9 degrees at 0.6 of the reach; the slots that are searched are wider.
    assert np.abs(off).max() < 1.5
    assert abs(wrap((seen.phase_deg - phase_deg) * segments)) / segments < 0.4


def test_eight_spokes_between_the_diagonals_are_not_sixteen():
    """The diagonals fill every fourth place of sixteen: with the spokes that makes twelve."""
    for seed in range(3):
        layout = DrawnLayout(8, phase_deg=22.5, rings=even_rings(7, 12.7), lines=CORNER_LINES, seed=seed)
        assert detect(*photograph(layout)).segments == 8


@pytest.mark.parametrize(("phase_deg", "rival"), [(0.0, 4), (10.0, None)])
def test_a_count_that_corner_lines_leave_open_is_said_to_be(phase_deg, rival):
    """Eight spokes, four of them upon the diagonals, may be four spokes between them."""
    layout = DrawnLayout(8, phase_deg=phase_deg, rings=even_rings(7, 12.7), lines=CORNER_LINES, seed=8)
    photo, panel = photograph(layout)
    marks = find_marks(photo, panel)
    assert marks.segments == 8
    assert detect(photo, panel).rival == rival
    assert ["count_open" in note.code for note in marks.notes].count(True) == (rival is not None)
    assert detect(photo, panel, 8).rival is None


def test_dark_marks_on_a_light_panel():
    """Pencil on white is found like chalk on black, and called dark."""
    seen = detect(*photograph(DrawnLayout(10, light=False, width_mm=0.6, rings=even_rings(6, 15.0))))
    assert not seen.light
    assert seen.segments == 10


@pytest.mark.parametrize("light", [True, False])
def test_broad_strokes_keep_their_shade(light):
    """The panel beside strokes of 3 mm, sharpened by the phone, is not taken for strokes of the other shade."""
    photo, panel = photograph(DrawnLayout(9, light=light, width_mm=3.0, rings=even_rings(8, 12.7), seed=4))
    rgb = photo.rgb.astype(np.float32)
    sharpened = rgb + 0.6 * (rgb - cv2.GaussianBlur(rgb, (0, 0), 2.5))
    view = small_flat_view(cv2.cvtColor(np.clip(sharpened, 0, 255).astype(np.uint8), cv2.COLOR_RGB2GRAY), panel)
    share = light_share(ridges(*view), view[0])
    assert share > 0.65 if light else share < 0.35


def test_turning_the_layout_turns_the_bearings():
    """A layout turned by 11 degrees is seen turned by 11 degrees, and nothing else changes."""
    one, other = (
        detect(*photograph(DrawnLayout(9, phase_deg=p, rings=even_rings(5, 18.0), seed=3))) for p in (3.0, 14.0)
    )
    assert one.segments == other.segments == 9
    np.testing.assert_allclose(wrap(other.phase_deg - one.phase_deg - 11.0), 0, atol=0.2)
    for ring in even_rings(5, 18.0):
        assert all(np.abs(seen.ring_radii_mm - ring.radius_mm).min() < 0.3 for seen in (one, other))


def test_rings_stroke_and_reach_are_roughly_right():
    """All rings are among the candidates, the stroke is as wide as drawn, the layout ends where the spokes end."""
    rings = even_rings(7, 13.0)
    seen = detect(*photograph(DrawnLayout(12, rings=rings, reach_mm=104.0, width_mm=1.2)))
    for ring in rings:
        assert np.abs(seen.ring_radii_mm - ring.radius_mm).min() < 0.5
    assert seen.reach_mm == pytest.approx(104.0, abs=2.0)
    # 1.2 mm, blurred by the smoothing of the drawing: 0.16 mm.
    assert seen.stroke_mm == pytest.approx(1.2, abs=0.25)


def test_corner_lines_are_measured_to_hundredths():
    """Both construction lines are found, each where it was drawn within its own interval."""
    drawn = (((-149.0, -148.0), (148.5, 149.0), 1.0), ((149.0, -149.5), (-149.0, 148.0), 1.0))
    seen = detect(*photograph(DrawnLayout(10, rings=even_rings(6, 14.0), lines=drawn)))
    assert len(seen.diagonals) == 2
    for line, (start, end, _) in zip(seen.diagonals, drawn, strict=True):
        for point in (np.array(start), np.array(end)):
            error = abs(float((point - line.inner_mm) @ line.across))
            assert error < 4 * np.sqrt(line.across_covariance.diagonal().max()) + 0.01
            assert error < 0.08


def test_no_corner_lines_are_invented():
    """A layout without construction has none."""
    assert detect(*photograph(DrawnLayout(12, rings=even_rings(6, 14.0)))).diagonals == ()


def test_the_painters_count_is_used():
    """Where the painter gives the count, the places follow it."""
    assert detect(*photograph(DrawnLayout(12, rings=even_rings(6, 14.0))), segments=6).segments == 6


@pytest.mark.parametrize("told", [11, 13, 10])
def test_another_number_than_is_plainly_drawn_is_a_slip_and_no_ten_millimetres_to_move(told):
    with pytest.raises(MarksError) as refused:
        detect(*photograph(DrawnLayout(12, rings=even_rings(6, 14.0))), segments=told)
    assert (refused.value.code, refused.value.values["seen"]) == ("count_contradicts", 12)


@pytest.mark.parametrize("kind", ["plain", "grained", "strays", "circles"])
def test_a_panel_without_spokes_is_refused(kind):
    """Grain, stray lines and bare circles are no layout."""
    rng = np.random.default_rng(7)
    grey = rng.normal(90, 4, (1200, 1200))
    if kind == "grained":
        grey = 120 + 300 * cv2.GaussianBlur(rng.normal(size=grey.shape), (0, 0), 12, sigmaY=0.8)
    if kind == "strays":
        for _ in range(6):
            a, b = rng.integers(60, 1140, (2, 2)).tolist()
            cv2.line(grey, a, b, 190.0, 4)
    if kind == "circles":
        for radius in (100, 200, 300):
            cv2.circle(grey, (600, 600), radius, 190.0, 4)
    picture = np.clip(grey, 0, 255).astype(np.uint8)
    panel = Panel.from_corners(300.0, 300.0, Lens(1500, 600, 600), [[20, 25], [1180, 20], [1185, 1180], [15, 1178]])
    with pytest.raises(MarksError, match=r"\w") as refused:
        detect(Photo(np.repeat(picture[..., None], 3, axis=2)), panel)
    assert refused.value.code == "nothing_drawn"


def test_a_ring_off_the_spokes_centre_is_a_candidate():
    """Circles whose centre stands a millimetre beside the spokes' are found too."""
    seen = detect(*photograph(DrawnLayout(8, rings=(DrawnRing(50.0, (0.8, -0.7)), DrawnRing(80.0)))))
    assert np.abs(seen.ring_radii_mm - 50.0).min() < 0.8
