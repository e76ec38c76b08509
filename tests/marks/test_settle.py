"""Round rings settle the map: what a panel out of square does to them is taken out of everything drawn on it."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import measure_drift
from aligncheck.geometry.angles import wrap
from aligncheck.marks import Marks, Ring
from aligncheck.marks.moved import around, circle_by
from aligncheck.marks.round_rings import settled_panel
from aligncheck.marks.settle import settle
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.square import out_of_square
from tests.marks.ovals import READ_MM, waves
from tests.together.hands import PIXELS_MM, SIZE_MM, drawn, exact_panel, seen_by


def askew(seed: int, sd_mm: float, hand_mm: float = 0.005) -> tuple[Marks, Marks]:
    """A canvas out of square by `sd_mm` as one photo reads it, taking it for square; and the truth."""
    rng = np.random.default_rng(seed)
    true = drawn(seed, hand_mm=0.3)
    error = np.zeros(10)
    error[:8] = rng.multivariate_normal(np.zeros(8), out_of_square(*SIZE_MM, sd_mm), method="eigh")
    seen = seen_by(true, seed, corner_mm=0.02, error=error)
    rings = []
    for ring in seen.rings:
        # True = measured + F p: a round ring is read off by the opposite.
        oval = (
            -circle_by(seen.panel.field(around(ring)) @ error)[3:]
            + rng.normal(0, READ_MM, 2)
            + rng.normal(0, hand_mm, 2)
        )
        rings.append(replace(ring, waves=waves(oval, hand_mm)))
    return replace(seen, rings=tuple(rings)), true


def errors_mm(found: Marks, true: Marks) -> float:
    """Rms error of the spokes' moves."""
    a, b = measure_drift(found), measure_drift(true)
    return float(np.sqrt(np.mean([(x.move_mm - y.move_mm) ** 2 for x, y in zip(a.spokes, b.spokes, strict=True)])))


def test_moves_on_canvases_out_of_square_come_right() -> None:
    """Twelve canvases off by 0.2 mm a corner: their moves' errors at least halve, and the intervals hold."""
    before, after, held = [], [], []
    for seed in range(12):
        seen, true = askew(seed, 0.2)
        settled = settle(seen)
        before.append(errors_mm(seen, true))
        after.append(errors_mm(settled, true))
        real = measure_drift(true)
        held += [
            abs(s.move_mm - t.move_mm) <= s.move_u95_mm
            for s, t in zip(measure_drift(settled).spokes, real.spokes, strict=True)
        ]
    assert np.sqrt(np.mean(np.square(after))) < 0.5 * np.sqrt(np.mean(np.square(before)))
    assert np.mean(held) > 0.9


def test_rings_tell_a_canvas_from_a_board() -> None:
    """Nobody told the thickness: ovals that all rings share make it a canvas, round ones a well-cut board."""
    # In the order of the kinds that are usual: cut true, off by tenths.
    for sd_mm, kind, least in ((0.2, 1, 0.5), (0.02, 0, 0.9)):
        panels = [settled_panel(m.panel, m.rings) for m, _ in (askew(seed, sd_mm) for seed in range(9))]
        assert np.median([panel.kinds[kind].share for panel in panels]) > least


def test_ovals_of_an_unsteady_hand_move_nothing() -> None:
    """Rings drawn by hand, out of round by tenths: the map stays where the sides have it; by a stencil, it does not."""

    def moved(seed: int, sd_mm: float, hand_mm: float) -> float:
        seen, _ = askew(seed, sd_mm, hand_mm)
        settled = settled_panel(seen.panel, seen.rings)
        return float(np.abs(settled.corners_mm - nominal_corners(*SIZE_MM)).max())

    assert np.median([moved(seed, 0.02, 0.15) for seed in range(9)]) < 0.02
    assert np.median([moved(seed, 0.2, 0.005) for seed in range(9)]) > 0.05


def test_what_is_drawn_stays_where_the_photo_shows_it() -> None:
    """The frame changes, not the photo: ends, rings and the centre keep their pixels to a hundredth."""
    seen, _ = askew(2, 0.2)
    settled = settle(seen)
    # What the rings say of the sides is within what these are unsure by, a tenth of a pixel.
    assert settled.panel.corners_px == pytest.approx(seen.panel.corners_px, abs=0.1)
    for old, new in zip(seen.spokes, settled.spokes, strict=True):
        for a, b in ((old.inner_mm, new.inner_mm), (old.outer_mm, new.outer_mm)):
            assert settled.panel.to_photo(b) == pytest.approx(seen.panel.to_photo(a), abs=0.02)
    assert settled.panel.to_photo(settled.centre.xy_mm) == pytest.approx(
        seen.panel.to_photo(seen.centre.xy_mm), abs=1e-6
    )
    for ring in settled.rings:
        assert ring.waves is not None and np.hypot(*ring.waves.oval_mm) < 0.03
    assert settle(settled) is settled


def test_a_panel_whose_rings_are_round_keeps_its_map() -> None:
    """No oval, no news; and without rings nothing is told either."""
    panel = exact_panel()
    rings = tuple(Ring(np.zeros(2), 20.0 * k, 1e-4 * np.eye(3), waves=waves()) for k in range(1, 6))
    for seen in (rings, ()):
        settled = settled_panel(panel, seen)
        assert settled.corners_mm == pytest.approx(panel.corners_mm, abs=1e-6)
        assert settled.settled and sum(k.share for k in settled.kinds) == pytest.approx(1.0)


def test_conditioning_is_the_scatter_of_draws() -> None:
    """Of many canvases with ovals as they were read, what remains unknown is what the settled kinds claim."""
    off, claimed = [], []
    for seed in range(60):
        seen, true = askew(100 + seed, 0.2)
        spokes = tuple(replace(s, across_covariance=PIXELS_MM**2 * np.eye(2)) for s in seen.spokes)
        centre = replace(seen.centre, covariance=PIXELS_MM**2 * np.eye(2))
        panel = replace(seen.panel, depth_mm=38.0, covariance=1e-6 * np.eye(10))
        seen = replace(seen, panel=panel, spokes=spokes, centre=centre)
        settled = measure_drift(settle(seen))
        real = measure_drift(true)
        off += [wrap(s.drift_deg - t.drift_deg) for s, t in zip(settled.spokes, real.spokes, strict=True)]
        claimed += [s.drift_u95_deg for s in settled.spokes]
    held = np.mean(np.abs(off) <= claimed)
    assert 0.92 <= held <= 0.995
