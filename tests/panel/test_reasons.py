"""Why a panel is refused must be true; and what is no reason must not refuse."""

from dataclasses import replace
from types import SimpleNamespace

import cv2
import numpy as np
import pytest

from aligncheck.errors import PanelError, PhotoError
from aligncheck.panel import find, refusal
from aligncheck.panel.cut_off import _leaves
from aligncheck.panel.drawing_sign import DrawingSign
from aligncheck.panel.evidence import Evidence
from aligncheck.panel.findings import Findings
from aligncheck.panel.inside import believed_inside, casts_doubt
from aligncheck.panel.small import SmallView
from aligncheck.panel.trust import trusted
from aligncheck.panel.wheel import find_wheels
from tests.panel.scenes import taken

CORNERS = np.array([[100.0, 100.0], [900.0, 100.0], [900.0, 900.0], [100.0, 900.0]])


@pytest.fixture(scope="module")
def view() -> SmallView:
    return SmallView.of(taken(1).photo)


def test_a_drawing_leaves_the_picture_only_where_its_lines_do(view):
    wheel = find_wheels(view)[0]
    # Diagonals make the drawing's end a circle that leaves the picture, with the panel well inside.
    wide = wheel._replace(radius=3 * wheel.radius)
    assert not _leaves(wide, view)
    # The same picture cut through the drawing.
    left = round(wheel.centre.real) - 40
    cx, cy = view.centre_px
    cut = replace(view, rgb=np.ascontiguousarray(view.rgb[:, left:]), centre_px=(cx - left, cy))
    assert _leaves(wheel._replace(centre=wheel.centre - left), cut)


def candidate(*, trust: float, pattern: float, corners=CORNERS, score: float = 9.0):
    """As much of a candidate as the choice looks at: four clear sides."""
    fit = SimpleNamespace(
        shape_chi2=0.5,
        largest_u95_mm=0.3,
        corners_px=corners,
        strength=np.full(4, 10.0),
        residual_px=np.full(4, 0.1),
        passed_over=(False,) * 4,
    )
    sign = DrawingSign(pattern, 1.0, 0.0, 4000)
    evidence = Evidence(score, np.full(4, 20.0), np.ones(4), sign, fit)
    return SimpleNamespace(evidence=evidence, fit=fit, trust=trust, corners_px=corners, size_mm=(300.0, 300.0))


def test_clear_sides_alone_make_no_panel_of_a_printed_box():
    assert trusted(candidate(trust=2.7, pattern=0.6))
    assert not trusted(candidate(trust=2.7, pattern=-0.02))
    # A painted panel hardly shows its wheel any more: then all else must be as good as it can.
    assert trusted(candidate(trust=5.5, pattern=0.2))


def test_a_side_whose_places_lie_at_random_is_not_believed():
    """A glossy panel as bright as its table along one side: the pieces follow the grain, one here, one there."""
    found = candidate(trust=5.7, pattern=0.95)
    assert trusted(found)
    places = np.random.default_rng(1).uniform(-2.5, 2.5, 400)
    scatter = 1.48 * float(np.median(np.abs(places)))
    found.fit.residual_px = np.array([1.1 * scatter, 0.05, 0.2, 0.04])
    # Nothing else could be the side: then its claim is wide enough.
    assert trusted(found)
    found.fit.passed_over = (True, False, False, False)
    assert not trusted(found)
    # Pixels of a photo of fifty megapixels are half as large.
    assert trusted(found, unit=2.0)


def test_an_outline_is_not_inside_itself(monkeypatch):
    monkeypatch.setattr("aligncheck.panel.inside.is_border", lambda *given: False)
    outer = candidate(trust=8.0, pattern=0.9)
    inward = np.sign(CORNERS.mean(0) - CORNERS)
    for off_px, inside in ((0.5, False), (12.0, True)):
        inner = candidate(trust=6.0, pattern=0.9, corners=CORNERS + off_px * inward)
        assert believed_inside(None, inner, outer) == inside
        assert casts_doubt(None, inner, outer) == inside


def test_a_mats_lines_beyond_the_picture_do_not_cut_a_panel_off(view, monkeypatch):
    monkeypatch.setattr(refusal, "is_cut_off", lambda *given: True)
    monkeypatch.setattr(refusal, "PROPORTIONS", ())
    search = SimpleNamespace(view=view, width_mm=300.0, height_mm=300.0)
    doubtful = PanelError("outline_doubtful")
    shown = Findings(candidates=[candidate(trust=2.0, pattern=0.9)], wheels=find_wheels(view))
    assert refusal.more_exact(doubtful, search, shown).code == "outline_doubtful"
    # Four clear sides of a wrong shape: something lies over one of them.
    covered = Findings(candidates=[candidate(trust=-3.0, pattern=0.9)], wheels=find_wheels(view))
    assert refusal.more_exact(doubtful, search, covered).code == "outline_doubtful"
    nothing = Findings(candidates=[candidate(trust=-3.0, pattern=0.9, score=6.0)], wheels=find_wheels(view))
    assert refusal.more_exact(doubtful, search, nothing).code == "panel_cut_off"


def test_where_a_drawing_shows_a_panel_is_not_said_to_be_missing(view, monkeypatch):
    monkeypatch.setattr(refusal, "is_cut_off", lambda *given: False)
    monkeypatch.setattr(refusal, "PROPORTIONS", ())
    search = SimpleNamespace(view=view, width_mm=300.0, height_mm=300.0)
    missing = PanelError("no_panel")
    drawn, bare = Findings(wheels=find_wheels(view)), Findings(wheels=[])
    assert refusal.more_exact(missing, search, drawn).code == "outline_doubtful"
    assert refusal.more_exact(missing, search, bare).code == "no_panel"


def test_sides_in_doubt_are_blamed_on_blur_only_where_they_are_soft(monkeypatch):
    """A search that ends in doubt: soft sides are the reason, sharp ones are not."""

    def in_doubt(search, findings):
        findings.candidates.append(candidate(trust=-1.0, pattern=0.9, corners=shot.panel.corners_px))
        raise PanelError("outline_doubtful")

    shot = taken(1)
    monkeypatch.setattr(find, "search_panel", in_doubt)
    monkeypatch.setattr(find, "more_exact", lambda refused, *given: refused)
    unit = max(shot.photo.width_px, shot.photo.height_px) / 4032
    # An edge blurred by s takes 2.5 s: 15 px of a phone's photo, where twenty hide the drawing too.
    soft = replace(shot.photo, rgb=cv2.GaussianBlur(shot.photo.rgb, (0, 0), 15 * unit / 2.5))
    with pytest.raises(PhotoError) as blurred:
        find.find_panel(soft, 304.8, 304.8)
    assert blurred.value.code == "photo_blurred"
    with pytest.raises(PanelError) as doubtful:
        find.find_panel(shot.photo, 304.8, 304.8)
    assert doubtful.value.code == "outline_doubtful"


def test_a_second_panel_is_told_by_its_refined_sides(view):
    """Where the focal length is open its rough outline may be a poor one, and its drawing then off its middle."""
    search = SimpleNamespace(view=view, width_mm=300.0, height_mm=300.0)
    chosen, other = candidate(trust=6.0, pattern=0.9), candidate(trust=5.0, pattern=0.9, corners=CORNERS + 500.0)
    refusal.require_one_panel(chosen, search, Findings(candidates=[chosen]))
    with pytest.raises(PanelError) as error:
        refusal.require_one_panel(chosen, search, Findings(candidates=[chosen, other]))
    assert error.value.code == "two_panels"
