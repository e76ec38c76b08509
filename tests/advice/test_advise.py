"""Each kind of trouble is named with what to do, and what that is said to bring is about what it brings."""

import re
from dataclasses import replace

import cv2
import numpy as np
import pytest

from aligncheck.advice import advise
from aligncheck.advice.budget import GRAIN_MM, Budget, budget_of
from aligncheck.advice.flat import bowed_side
from aligncheck.advice.frame import fill_frame, look_from_above
from aligncheck.advice.glare import less_glare
from aligncheck.advice.sharp import more_light, sharpen
from aligncheck.drift import Drift, measure_drift
from aligncheck.lens import Lens
from aligncheck.marks import Marks, Waves
from aligncheck.marks.settle import settle
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from tests.render import stand
from tests.together.hands import drawn

WIDE = Budget(total_mm=0.5, map_mm=0.3, own_mm=0.4)


def marks_seen(fill: float = 0.9, tilt_deg: float = 5.0, own_sd_mm: float = 0.05, **how: float) -> Marks:
    """Twelve spokes on a panel before a phone of 2 megapixels."""
    camera = stand((1600, 1200), (304.8, 304.8), fill=fill, tilt_deg=tilt_deg, **how)
    half = 152.4
    corners = camera.project_plane(np.array([[-half, -half], [half, -half], [half, half], [-half, half]]))
    panel = Panel.from_corners(304.8, 304.8, Lens(camera.f_px, camera.cx, camera.cy), corners, np.eye(10) * 1e-3)
    true = drawn(3)
    spokes = tuple(replace(s, across_covariance=np.eye(2) * own_sd_mm**2) for s in true.spokes)
    return replace(true, panel=panel, spokes=spokes)


def picture(marks: Marks, ground: int = 40, line: int = 220) -> Photo:
    """A dark panel with its spokes on a lighter table, without blur or noise but what a lens leaves."""
    image = np.full((1200, 1600), 150, np.uint8)
    cv2.fillPoly(image, [np.rint(marks.panel.corners_px).astype(np.int32)], ground, cv2.LINE_AA)
    for s in marks.spokes:
        a, b = (tuple(np.rint(p).astype(int).tolist()) for p in marks.panel.to_photo([s.inner_mm, s.outer_mm]))
        cv2.line(image, a, b, line, 3, cv2.LINE_AA)
    return as_photo(cv2.GaussianBlur(image, (0, 0), 0.8))


def as_photo(grey: np.ndarray) -> Photo:
    return Photo(np.repeat(np.asarray(grey, np.uint8)[..., None], 3, axis=2))


def test_nothing_to_say_about_a_good_photo() -> None:
    """A panel that fills a sharp, bright, even picture: no advice."""
    marks = marks_seen(own_sd_mm=0.02)
    assert advise(picture(marks), measure_drift(marks)) == ()


def test_budget_splits_map_and_strokes() -> None:
    """The two parts add up in squares; each alone gives itself."""
    drift = measure_drift(marks_seen())
    budget = budget_of(drift)
    assert budget is not None
    assert budget.total_mm == pytest.approx(np.hypot(budget.map_mm, budget.own_mm))
    assert budget.if_better() == pytest.approx(budget.total_mm)
    # However much better the photo: the chalk's grain stays.
    assert budget.if_better(100, 100) >= GRAIN_MM


def test_budget_knows_the_map_of_a_settled_panel() -> None:
    """Round rings make it a well-cut board: what canvases might be cut like is no part of the strokes' share."""
    seen = marks_seen(own_sd_mm=0.002)
    round_ = Waves(np.zeros(10), np.zeros(2), 0.006**2 * np.eye(2), 0.005)
    rings = tuple(replace(ring, waves=round_) for ring in seen.rings)
    centre = replace(seen.centre, covariance=0.002**2 * np.eye(2))
    panel = replace(seen.panel, covariance=np.diag([0.05**2] * 8 + [1e-6] * 2))
    budget = budget_of(measure_drift(settle(replace(seen, panel=panel, rings=rings, centre=centre))))
    assert budget is not None
    assert budget.map_mm > 0.5 * budget.total_mm


def test_fill_the_frame() -> None:
    """A small panel: go closer, and the interval shrinks; a full frame: nothing."""
    small = marks_seen(fill=0.35)
    gain = fill_frame(picture(small), small, WIDE)
    assert gain is not None and gain.worth_it and gain.values["filled"] == 35
    assert gain.then_mm < 0.5 * gain.now_mm
    text = gain.note().text
    assert re.search(r"fills 35 % of the picture\. Go closer: ± 0\.50 mm becomes ± 0\.\d\d mm", text)
    full = marks_seen(fill=0.85)
    assert fill_frame(picture(full), full, WIDE) is None


def test_wide_strokes_gain_nothing_by_going_closer() -> None:
    """Where strokes are wide in pixels already, only the map would gain."""
    small = marks_seen(fill=0.6)
    broad = replace(small, spokes=tuple(replace(s, width_mm=3.0) for s in small.spokes))
    gain = fill_frame(picture(broad), broad, Budget(0.4, 0.0, 0.4))
    assert gain is not None and gain.then_mm == pytest.approx(0.4) and not gain.worth_it


def test_look_from_above() -> None:
    """A tilt of 34 degrees is told; 10 degrees are not.

    Told is the tilt at which the panel's middle is seen, which lies some degrees off the picture's middle.
    """
    gain = look_from_above(marks_seen(fill=0.7, tilt_deg=34.0), WIDE)
    assert gain is not None and abs(int(str(gain.values["tilt"])) - 34) <= 6 and gain.then_mm < gain.now_mm
    assert look_from_above(marks_seen(tilt_deg=10.0), WIDE) is None


@pytest.mark.parametrize(("length", "code"), [((6, 6), "advice_focus"), ((1, 31), "advice_moved")])
def test_blur(length: tuple[int, int], code: str) -> None:
    """Blur alike in all directions is focus, in one direction the phone's movement; a sharp photo is neither."""
    marks = marks_seen()
    sharp = picture(marks)
    assert sharpen(sharp, marks.panel, WIDE) is None
    if code == "advice_focus":
        blurred = cv2.GaussianBlur(sharp.grey, (0, 0), length[0])
    else:
        blurred = cv2.blur(sharp.grey, length[::-1])
    gain = sharpen(as_photo(blurred), marks.panel, WIDE)
    assert gain is not None and gain.code == code and gain.then_mm < gain.now_mm


def test_dark() -> None:
    """A dark photo whose sides are unsure asks for light, an ordinary one does not."""
    photo = picture(marks_seen())
    sides = Budget(total_mm=0.5, map_mm=0.4, own_mm=0.3)
    assert more_light(photo, sides) is None
    gain = more_light(as_photo(photo.grey // 4), sides)
    assert gain is not None and gain.worth_it


def test_light_and_focus_mend_no_chalk() -> None:
    """Where the chalk's own grain is what is left, neither is said to help."""
    marks = marks_seen()
    chalk = Budget(total_mm=0.3, map_mm=0.03, own_mm=0.298)
    dull = as_photo(cv2.GaussianBlur(picture(marks).grey, (0, 0), 6) // 4)
    for gain in (more_light(dull, chalk), sharpen(dull, marks.panel, chalk)):
        assert gain is not None and not gain.worth_it


def with_glare(photo: Photo, marks: Marks, at_mm: tuple[float, float]) -> Photo:
    """A soft bright spot on the panel."""
    x, y = marks.panel.to_photo(at_mm)
    columns, rows = np.meshgrid(np.arange(1600), np.arange(1200))
    spot = 190 * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / 2 / 110**2)
    return as_photo(np.clip(photo.grey + spot, 0, 255))


def unsure_between(drift: Drift, first: float, last: float) -> Drift:
    """The same with the spokes of these bearings four times less sure."""
    spokes = tuple(replace(s, move_u95_mm=4 * s.move_u95_mm) if first < s.ideal_deg < last else s for s in drift.spokes)
    return replace(drift, spokes=spokes)


def test_glare_names_the_spokes_under_it() -> None:
    """Glare at 4 o'clock over spokes that are less sure there: named by the clock; without glare nothing is said."""
    marks = marks_seen()
    drift = unsure_between(measure_drift(marks), 90, 150)
    clean = picture(marks)
    assert less_glare(clean, drift) is None
    gain = less_glare(with_glare(clean, marks, (75.0, 43.0)), drift)
    assert gain is not None and gain.worth_it
    assert re.search(r"Glare (from|at) [34] o'clock|Glare (from|at) half past [23]", gain.note().text)


def test_glare_that_hides_spokes() -> None:
    """Spokes that are missing where it shines are lost to it."""
    marks = marks_seen()
    drift = measure_drift(marks)
    less = replace(drift, spokes=tuple(s for s in drift.spokes if not 90 < s.ideal_deg < 150))
    gain = less_glare(with_glare(picture(marks), marks, (75.0, 43.0)), less)
    assert gain is not None and "o'clock" in str(gain.values["where"]) and gain.now_mm >= drift.tolerance_mm


def bowed_picture(marks: Marks, bow_mm: float) -> Photo:
    """The panel with its top side bowed outwards in the middle by `bow_mm`."""
    t = np.linspace(-1, 1, 200)
    top = np.column_stack([152.4 * t, -152.4 - bow_mm * (1 - t**2)])
    outline = marks.panel.to_photo(np.vstack([top, [[152.4, 152.4], [-152.4, 152.4]]]))
    fine = np.zeros((4800, 6400), np.uint8)
    cv2.fillPoly(fine, [np.rint(outline * 4 + 1.5).astype(np.int32)], 255)
    mask = cv2.resize(fine, (1600, 1200), interpolation=cv2.INTER_AREA).astype(float) / 255
    return as_photo(150 + (40 - 150) * mask)


def test_bowed_side() -> None:
    """A top side bowed by 1.5 mm is named with its size; a straight one is not."""
    marks = marks_seen()
    note = bowed_side(bowed_picture(marks, 1.5), marks.panel)
    assert note is not None and note.values["side"] == "top"
    assert float(str(note.values["bow_mm"])) == pytest.approx(1.5, abs=0.2)
    assert bowed_side(bowed_picture(marks, 0.0), marks.panel) is None


def test_at_most_two_pieces_of_advice() -> None:
    """A photo wrong in every way gets the two that help most."""
    marks = marks_seen(fill=0.4, tilt_deg=30.0, own_sd_mm=0.1)
    # Blur and dark make the sides unsure.
    marks = replace(marks, panel=replace(marks.panel, covariance=np.eye(10) * 0.2))
    photo = as_photo(cv2.GaussianBlur(picture(marks).grey, (0, 0), 6) // 4)
    notes = advise(photo, measure_drift(marks))
    assert len([n for n in notes if n.code != "advice_bowed"]) == 2


def test_a_cropped_photo_is_told() -> None:
    """Cut at its lower border, a photo has no camera's proportions: told, unless a profile gives the lens."""
    marks = marks_seen(own_sd_mm=0.02)
    whole = picture(marks)
    cropped = as_photo(whole.grey[:1165])
    assert [n.code for n in advise(cropped, measure_drift(marks))] == ["advice_cropped"]
    profiled = replace(marks.panel, lens=replace(marks.panel.lens, source="profile"))
    assert advise(cropped, measure_drift(replace(marks, panel=profiled))) == ()


def test_a_shadow_beside_a_side_is_no_bow() -> None:
    """A dark band that widens along the bottom side, as a panel's own shadow does, leaves the side where it is."""
    marks = marks_seen()
    band = np.array([[-152.4, 152.4], [0, 154.2], [152.4, 154.2], [152.4, 152.4]])
    corners = np.array([[-152.4, -152.4], [152.4, -152.4], [152.4, 152.4], [-152.4, 152.4]])
    fine = np.full((4800, 6400), 150, np.uint8)
    for outline, code in ((band, 45), (corners, 40)):
        cv2.fillPoly(fine, [np.rint(marks.panel.to_photo(outline) * 4 + 1.5).astype(np.int32)], code)
    photo = as_photo(cv2.resize(fine, (1600, 1200), interpolation=cv2.INTER_AREA))
    assert bowed_side(photo, marks.panel) is None
