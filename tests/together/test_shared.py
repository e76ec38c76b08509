"""What all photos of a panel share: how it was cut, and how round its rings are."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import measure_drift
from aligncheck.marks import Marks, Waves
from aligncheck.marks.moved import around, circle_by
from aligncheck.marks.settle import settle, unsettle
from aligncheck.panel.in_common import own_precision
from aligncheck.panel.square import out_of_square
from aligncheck.together import tie
from aligncheck.together.match import common_frame, observe, roundness_of
from aligncheck.together.seen import quarter_turn, see
from aligncheck.together.solve import Panel, Trust, photo_of, solve
from tests.together import hands
from tests.together.hands import SIZE_MM, drawn, grained, map_covariance, seen_by

NAMES = ("a", "b", "c")
READ_MM, HAND_MM, CORNER_MM = 0.006, 0.01, 0.05


def canvas(seed: int, quarters: tuple[int, ...], off_mm: float = 0.2) -> tuple[list[Marks], Marks]:
    """Photos of a canvas out of square, each turned anticlockwise by so many quarters; and the truth."""
    rng = np.random.default_rng([seed, 3])
    true = drawn(seed, hand_mm=0.3)
    cut = rng.multivariate_normal(np.zeros(8), out_of_square(*SIZE_MM, off_mm), method="eigh").reshape(4, 2)
    hands = rng.normal(0, HAND_MM, (len(true.rings), 2))
    chalk = grained(true, seed + 40)
    return [_photo(chalk, seed, k, q, cut, hands) for k, q in enumerate(quarters)], true


def _photo(chalk: Marks, seed: int, k: int, quarters: int, cut: np.ndarray, hands: np.ndarray) -> Marks:
    rng = np.random.default_rng([seed, k, 8])
    error = rng.normal(0, np.sqrt(np.diag(map_covariance(CORNER_MM))))
    # Turned back, the corner after the next `quarters` is the first one.
    error[:8] += (np.roll(cut, -quarters, axis=0) @ quarter_turn(quarters)).ravel()
    seen = seen_by(chalk, 100 * seed + k, quarters=quarters, corner_mm=CORNER_MM, error=error)
    rings = []
    for ring, hand in zip(seen.rings, hands, strict=True):
        by_map = circle_by(seen.panel.field(around(ring)) @ error)[3:]
        oval = hand * (-1.0) ** quarters - by_map + rng.normal(0, READ_MM, 2)
        waves = Waves(np.array([*oval, *np.zeros(8)]), oval, READ_MM**2 * np.eye(2), HAND_MM)
        rings.append(replace(ring, waves=waves))
    return replace(seen, panel=replace(seen.panel, depth_mm=20.0), rings=tuple(rings))


def moves(found: Marks, true: Marks) -> tuple[np.ndarray, np.ndarray]:
    """Errors of the spokes' moves and their claims."""
    pairs = zip(measure_drift(found).spokes, measure_drift(true).spokes, strict=True)
    both = np.array([(a.move_mm - b.move_mm, a.move_u95_mm) for a, b in pairs])
    return both[:, 0], both[:, 1]


def test_one_photo_by_itself_is_settled_as_ever() -> None:
    """Of one photo the adjustment makes the map that its rings settle."""
    (photo,), _ = canvas(1, (0,))
    seen = see(photo)
    frame = common_frame([seen])
    observed = observe(frame, seen)
    own = tuple(own_precision(photo.panel, make) for make in seen.shown.makes)
    panel = Panel(frame.size, np.arange(frame.size), roundness_of(frame, [seen]), own)
    trust = Trust([np.ones(len(observed.index))], 0.1, np.ones(1))
    found = solve([photo_of(observed, seen.shown)], panel, 0, trust)
    settled = settle(photo).panel
    np.testing.assert_allclose(found.cut[0, :8].reshape(4, 2), settled.corners_mm - photo.panel.corners_mm, atol=1e-3)
    ends = [settled.to_panel(photo.panel.to_photo(s.outer_mm)) - s.outer_mm for s in photo.spokes]
    mine = [photo.panel.field(s.outer_mm) @ found.maps[0] for s in photo.spokes]
    np.testing.assert_allclose(mine, ends, atol=2e-3)
    mine, theirs = found.map_covariances[0], settled.kinds[0].covariance
    np.testing.assert_allclose(np.sqrt(np.diag(mine)), np.sqrt(np.diag(theirs)), rtol=0.02)


def test_settled_marks_come_back() -> None:
    """Photos are joined as their sides alone gave them, whatever their own rings said."""
    (photo,), _ = canvas(2, (0,))
    back = unsettle(settle(photo))
    assert np.abs(settle(photo).spokes[3].outer_mm - photo.spokes[3].outer_mm).max() > 0.01
    np.testing.assert_allclose(back.spokes[3].outer_mm, photo.spokes[3].outer_mm, atol=1e-3)
    np.testing.assert_allclose(back.rings[2].waves.oval_mm, photo.rings[2].waves.oval_mm, atol=1e-3)


@pytest.mark.parametrize("quarters", [(0, 0, 0), (0, 1, 3)])
def test_canvases_out_of_square(quarters: tuple[int, ...]) -> None:
    """Round rings mend what all photos share, whichever side is up; the intervals hold, and are no wider for it."""
    errors, claims, without = [], [], []
    for seed in range(6):
        photos, true = canvas(seed, quarters)
        error, claim = moves(tie(photos, NAMES).marks, true)
        errors.append(error)
        claims.append(claim)
        bare = [replace(p, rings=tuple(replace(r, waves=None) for r in p.rings)) for p in photos]
        without.append(moves(tie(bare, NAMES).marks, true)[0])
    held = np.mean(np.abs(np.concatenate(errors)) <= np.concatenate(claims))
    rms, bare_rms = (float(np.sqrt(np.mean(np.square(np.concatenate(e))))) for e in (errors, without))
    assert held >= 0.9
    assert rms < 0.7 * bare_rms
    assert rms > 0.25 * float(np.concatenate(claims).mean()) / 1.96


def test_a_corner_is_where_the_photo_shows_it() -> None:
    """How a canvas was cut moves what is measured, not the corners in the photo."""
    cut = []
    for seed in range(3):
        photos, _ = canvas(seed, (0, 0, 0), 0.4)
        for mended, photo in zip(tie(photos, NAMES).panels, photos, strict=True):
            # A pixel is a sixth of a millimetre.
            assert np.abs(mended.corners_px - photo.panel.corners_px).max() < 6.5 * 3.5 * CORNER_MM
            cut.append(np.abs(mended.corners_mm - photo.panel.corners_mm).max())
    assert np.mean(cut) > 2.5 * CORNER_MM


def test_what_differs_between_photos_averages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four photos whose marks differ by as much as they claim are surer of a spoke than one; grain alone is not."""
    true = drawn(4)
    one = true.spokes[0].across_covariance[1, 1]
    grain = tie([seen_by(grained(true, 9), k) for k in range(4)], "abcd").marks.spokes[0].across_covariance[1, 1]
    monkeypatch.setattr(hands, "PIXELS_MM", hands.GRAIN_MM)
    noise = tie([seen_by(true, k) for k in range(4)], "abcd").marks.spokes[0].across_covariance[1, 1]
    assert grain > 0.8 * one
    assert one / 4 < noise < 0.6 * one
