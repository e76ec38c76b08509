"""Stages are laid onto each other by their corners, sharpened by the marks that both show."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.film.register import register
from aligncheck.geometry.projective import apply_homography
from tests.record.pieces import SEGMENTS, hand_drawn, result_of
from tests.truth import read_truth, true_panel

SAMPLES = Path(__file__).parents[2] / "samples"
#: What the record promises where two stages show the same marks, mm.
PROMISED_MM = 0.3


def _apart(stage: dict, onto: dict, matrix: np.ndarray, skip: int | None = None) -> float:
    """Largest distance between the same spoke ends of the two, laid onto each other, mm."""
    own = apply_homography(matrix, np.array([s["outer_mm"] for s in stage["spokes"]]))
    other = np.array([s["outer_mm"] for s in onto["spokes"]])
    gaps = np.linalg.norm(own[:, None] - other[None], axis=2).min(axis=1)
    return float(np.delete(gaps, skip).max()) if skip is not None else float(gaps.max())


def test_corner_errors_are_taken_back_by_the_marks() -> None:
    rng = np.random.default_rng(2)
    first = result_of(hand_drawn())
    for trial in range(10):
        errors = rng.normal(0, 0.25, (4, 2))
        later = result_of(hand_drawn(), errors, noise_mm=0.03, seed=trial)
        found = register(later, first)
        before = _apart(later, first, np.eye(3))
        after = _apart(later, first, found.matrix)
        assert found.marks == SEGMENTS + 4
        assert after < max(0.15, 0.5 * before), (before, after)


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_quarter_turns_of_the_panel_are_noticed(quarters: int) -> None:
    first = result_of(hand_drawn())
    later = result_of(hand_drawn(), np.full((4, 2), 0.1), quarters=quarters, noise_mm=0.03)
    found = register(later, first)
    assert (found.quarters, found.sure) == (quarters, True)
    assert _apart(later, first, found.matrix) < 0.15


def test_a_spoke_that_was_drawn_anew_does_not_bend_the_map() -> None:
    spokes = hand_drawn()
    first = result_of(spokes)
    mended = [s.copy() for s in spokes]
    mended[4][1] += 3.0 * np.array([1.0, 0.0])
    found = register(result_of(mended, np.full((4, 2), -0.2), noise_mm=0.03), first)
    assert _apart(result_of(spokes, np.full((4, 2), -0.2)), first, found.matrix, skip=4) < 0.15


def test_a_regular_layout_leaves_the_turn_open_and_takes_the_pictures_word() -> None:
    exact = result_of(hand_drawn(spread_mm=0.0))
    assert not register(exact, exact).sure
    assert register(exact, exact, likely_quarters=3).quarters == 3


def test_without_common_marks_the_corners_alone_decide() -> None:
    first, bare = result_of(hand_drawn()), result_of([], rings_mm=())
    found = register(bare, first)
    assert (found.marks, found.rms_mm, found.sure) == (0, None, False)
    np.testing.assert_allclose(found.matrix, np.eye(3), atol=1e-9)


def test_two_stages_of_the_sample_piece_agree_within_what_is_promised() -> None:
    from aligncheck.checking import check
    from aligncheck.result import as_result

    seen = []
    for name in ("night-daisy-1-marked", "night-daisy-3-traced"):
        path = SAMPLES / f"{name}.jpg"
        done = check(path, "12x12in")
        truth = read_truth(path)
        drawn = np.array([s.get("extension_outer_mm") or s["outer_mm"] for s in truth["spokes"]], float)
        rings = [np.array(r["centre_mm"]) + r["radius_mm"] * np.array([1.0, 0.0]) for r in truth["rings"]]
        # Where this photo's map puts the true marks.
        pixels = true_panel(truth).to_photo(np.vstack([drawn, rings]))
        seen.append((as_result(done), done.panel.to_panel(pixels)))
    (first, base), (later, own) = seen
    laid = apply_homography(register(later, first).matrix, own)
    apart = np.linalg.norm(laid - base, axis=1)
    assert apart.max() < PROMISED_MM
    # And it is the marks that do it.
    assert apart.max() < np.linalg.norm(own - base, axis=1).max()
