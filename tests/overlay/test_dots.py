"""Dots that are amiss, drawn: circled where they are, tied to their figure, explained; good ones get nothing."""

from types import SimpleNamespace

import numpy as np
import pytest

from aligncheck.overlay import PHONE, PRINT, draw_flat_overlay, stage_layers
from aligncheck.overlay.canvas import Canvas
from aligncheck.overlay.colours import BONE, MOVE, PLAN
from aligncheck.overlay.grounds import FlatGround
from aligncheck.overlay.icons import HALF, draw_icon
from aligncheck.overlay.picture import compose
from aligncheck.overlay.stages import drawn_marks
from aligncheck.panel.flat import FlatView
from tests.dots.made import amiss, even_dots, place
from tests.overlay.made import even_spokes, level_panel, made_drift

PANEL = level_panel()
BLANK = FlatView(np.full((600, 600, 3), 60, np.uint8), 2.0, (299.5, 299.5))


def check(dots):
    drift = made_drift(PANEL, even_spokes(12, [3.0] + [0.0] * 11))
    return SimpleNamespace(drift=drift, notes=(), dots=dots, stage="painted")


def composed(dots, style=PHONE):
    made = check(dots)
    view = FlatGround(BLANK, PANEL, style).view(390, 58)
    return view, compose(view, drawn_marks(made), stage_layers(made))


def near(picture, xy_px, colour, reach):
    """Whether `colour` stands within `reach` pixels of a point."""
    x, y = (round(float(v)) for v in xy_px)
    part = picture[y - reach : y + reach + 1, x - reach : x + reach + 1].astype(int)
    return bool((np.abs(part - colour).max(-1) < 24).any())


def test_every_fault_has_its_figure_and_every_kind_its_sign() -> None:
    _, made = composed(amiss())
    plates = {" / ".join(line.text for line in placed.label.plate.lines) for _, placed in made.placements if placed}
    assert plates == {
        "missing / 3 o'clock",
        "2.4 mm too big / 5 o'clock",
        "run together / 8 o'clock",
        "1.6 mm off / 7 o'clock",
        "other colour / 2 o'clock",
    }
    texts = [entry.text for entry in made.entries]
    assert texts == ["30 dots fit", "missing", "too big", "run together", "off its place", "other colour"]


def test_chalk_under_paint_is_not_drawn() -> None:
    """No spoke that is off, no arrow, no tolerance; with its dots forgotten the same check has them."""
    _, made = composed(even_dots())
    assert made.placements == []
    assert [entry.text for entry in made.entries] == ["36 dots fit"]
    bare = check(None)
    assert drawn_marks(bare) is bare.drift
    assert drawn_marks(check(even_dots())).spokes == ()


def test_circles_stand_where_the_dots_are() -> None:
    dots = amiss()
    view, _ = composed(dots)
    picture = draw_flat_overlay(BLANK, check(dots), style=PHONE, width_px=390, more=stage_layers(check(dots)))
    big, gone, good = (view.to_px(place(*at)) for at in ((0, 5), (2, 3), (2, 10)))
    ring = round((10.4 / 2) * view.px_per_mm + 3 * view.q) + 2
    assert near(picture, big, MOVE, ring)
    assert near(picture, gone, PLAN, round(8 * view.q))
    assert not near(picture, good, MOVE, ring)
    assert not near(picture, good, PLAN, ring)


def test_plates_and_ties_keep_clear_of_one_another() -> None:
    """No plate over another nor over the painting, also in print with its intervals."""
    for style in (PHONE, PRINT):
        view, made = composed(amiss(), style)
        boxes = [placed.box for _, placed in made.placements if placed]
        centre = view.to_px(np.array([1.0, -2.0]))
        for k, (left, top, right, bottom) in enumerate(boxes):
            for a, b, c, d in boxes[k + 1 :]:
                assert right <= a or c <= left or bottom <= b or d <= top
            nearest = np.clip(centre, (left, top), (right, bottom))
            assert np.hypot(*(nearest - centre)) > 64.5 * view.px_per_mm


@pytest.mark.parametrize("kind", ["dots", "fits", "move"])
def test_the_outline_of_dots_is_its_own(kind) -> None:
    """A dashed circle above, a bead and a big orange dot below; other verdicts look otherwise."""
    page = np.zeros((60, 60, 3), np.uint8)
    canvas = Canvas(page, 1.0)
    draw_icon(canvas, kind, (30.0, 30.0), PHONE)
    done = canvas.finish()

    def at(x, y):
        return done[round(30 + y * HALF), round(30 + x * HALF)].astype(int)

    big, bead, hole = at(0.48, 0.42), at(-0.62, 0.42), at(0.0, -0.5)
    own = bool(np.abs(big - MOVE).max() < 30 and np.abs(bead - BONE).max() < 30 and hole.max() < 30)
    assert own == (kind == "dots")
