import importlib
from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import measure_drift
from aligncheck.errors import InputError
from aligncheck.geometry.angles import wrap
from aligncheck.marks import Marks
from aligncheck.together import tie
from tests.closeness import least_held
from tests.together.hands import CORNER_MM, drawn, end_errors, grained, map_covariance, seen_by

#: The module; its name in the package is the function's.
adjust_module = importlib.import_module("aligncheck.together.adjust")

NAMES = ("a", "b", "c", "d", "e", "f")


def rms(values: object) -> float:
    return float(np.sqrt(np.mean(np.square(np.concatenate([np.ravel(v) for v in values])))))  # type: ignore[attr-defined]


def photos(marks: Marks, number: int, seed: int, **how: object) -> list[Marks]:
    return [seen_by(marks, 100 * seed + k, **how) for k in range(number)]


def test_together_is_better_than_each() -> None:
    """Four photos: outer ends several times better than one photo's, down to the chalk's own grain."""
    single, joint, grain = [], [], []
    for seed in range(6):
        true = drawn(seed)
        chalk = grained(true, seed + 50)
        seen = photos(chalk, 4, seed)
        single += [end_errors(m, true) for m in seen]
        joint.append(end_errors(tie(seen, NAMES[:4]).marks, true))
        grain.append(end_errors(chalk, true))
    assert rms(joint) < 0.7 * rms(single)
    # Four maps leave half of what one leaves, where all of them are equally sure; the grain stays.
    assert rms(joint) < np.hypot(0.6 * np.sqrt(rms(single) ** 2 - rms(grain) ** 2), rms(grain))


def test_one_sharp_photo_mends_the_others() -> None:
    """With one sure map among three unsure ones the answer is as good as the sure one, in any order."""
    joint, sharp = [], []
    for seed in range(6):
        true = drawn(seed)
        seen = photos(true, 3, seed)
        best = seen_by(true, 900 + seed, corner_mm=0.02)
        sharp.append(end_errors(best, true))
        joint.append(end_errors(tie([*seen, best], NAMES[:4]).marks, true))
    assert rms(joint) < 1.2 * rms(sharp)


def test_an_odd_photo_counts_less(monkeypatch: pytest.MonkeyPatch) -> None:
    """One of four photos has a side off by more than it claims: not wrong enough to be left out, it hardly harms."""
    wrong = np.zeros(10)
    # The right side, 0.4 mm outwards: three times what is claimed.
    wrong[[2, 4]] = 0.4

    def joint() -> list[np.ndarray]:
        errors = []
        for seed in range(8):
            true = drawn(seed)
            good = [seen_by(true, 100 * seed + k, corner_mm=0.03) for k in range(3)]
            good = [replace(m, panel=replace(m.panel, covariance=map_covariance())) for m in good]
            answer = tie([*good, seen_by(true, 100 * seed + 7, error=wrong)], NAMES[:4])
            assert answer.used == (0, 1, 2, 3)
            errors.append(end_errors(answer.marks, true))
        return errors

    weighed = rms(joint())
    monkeypatch.setattr(adjust_module, "ODD", np.inf)
    assert weighed < 0.75 * rms(joint())


def test_intervals_hold() -> None:
    """Directions, moves and ring radii of 20 joint answers lie in their 95 % intervals as often as they must."""
    held = {"angle": [], "move": [], "radius": []}
    for seed in range(20):
        true = drawn(seed, segments=8, rings=4)
        joint = measure_drift(tie(photos(grained(true, seed + 70), 3, seed), NAMES[:3]).marks)
        exact = measure_drift(true)
        for mine, right in zip(joint.spokes, exact.spokes, strict=True):
            held["angle"].append(abs(float(wrap(mine.angle_deg - right.angle_deg))) <= mine.angle_u95_deg)
            held["move"].append(abs(mine.move_mm - right.move_mm) <= mine.move_u95_mm)
        for a, b in zip(joint.rings, exact.rings, strict=True):
            held["radius"].append(abs(a.radius_mm - b.radius_mm) <= a.radius_u95_mm)
    for name, inside in held.items():
        # One panel's figures share their maps' errors: they count as a fifth of their number.
        least = least_held(len(inside) // 5) / (len(inside) // 5)
        assert np.mean(inside) >= least, name


def test_systematic_parts_do_not_average_away() -> None:
    """With many photos the intervals stop shrinking: grain and rounded edges are the same in all of them."""
    true = drawn(3)
    few, many = (measure_drift(tie(photos(true, n, 3), NAMES[:n]).marks) for n in (3, 6))
    ratio = np.median([m.angle_u95_deg / f.angle_u95_deg for m, f in zip(many.spokes, few.spokes, strict=True)])
    assert ratio > np.sqrt(3 / 6)
    assert many.rings[-1].radius_u95_mm > 0.03


def test_says_where_the_bend_comes_from() -> None:
    """Marks seen from several places mend the bend, and the lens says so; a profile stays one."""
    true = drawn(6)
    seen = photos(true, 3, 6)
    joint = tie(seen, NAMES[:3]).marks.panel
    assert joint.lens.source == "marks"
    assert np.all(np.diag(joint.covariance)[8:] < np.diag(seen[0].panel.covariance)[8:])
    profiled = [replace(m, panel=replace(m.panel, lens=replace(m.panel.lens, source="profile"))) for m in seen]
    assert tie(profiled, NAMES[:3]).marks.panel.lens.source == "profile"


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_turned_by_quarters(quarters: int) -> None:
    """A photo with another side up is recognised by the marks; the answer stands in the first photo's frame."""
    true = drawn(4)
    seen = [seen_by(true, 1), seen_by(true, 2, quarters=quarters), seen_by(true, 3)]
    found = tie(seen, NAMES[:3])
    assert found.quarters == (0, quarters, 0) and not found.notes
    assert rms([end_errors(found.marks, true)]) < 2 * CORNER_MM
    # The turned photo's own corrected panel stays in its own frame.
    assert found.panels[1].width_mm == seen[1].panel.width_mm


def test_panel_that_is_not_square() -> None:
    """A quarter turn swaps width and height."""
    true = drawn(5, size_mm=(304.8, 406.4))
    found = tie([seen_by(true, 1), seen_by(true, 2, quarters=3)], NAMES[:2])
    assert found.quarters == (0, 3)
    assert (found.panels[1].width_mm, found.panels[1].height_mm) == (406.4, 304.8)


def test_even_pattern_does_not_tell_which_side_is_up() -> None:
    """A perfectly even drawing looks alike from four sides: said, and the photos are taken as they lie."""
    true = drawn(6, segments=12, hand_mm=0.0)
    found = tie([seen_by(true, 1), seen_by(true, 2)], NAMES[:2])
    assert found.quarters == (0, 0)
    assert [n.code for n in found.notes] == ["together_which_side_up"]


def test_photo_of_another_panel_is_named_and_left_out() -> None:
    """Of four photos one shows another panel: the rest is used, also where the stranger comes first."""
    true, other = drawn(7), drawn(8)
    seen = [seen_by(true, k) for k in range(3)]
    found = tie([*seen, seen_by(other, 9)], NAMES[:4])
    assert found.used == (0, 1, 2)
    assert [(i, n.code) for i, n in found.left_out] == [(3, "together_other_panel")]
    first = tie([seen_by(other, 9), *seen], NAMES[:4])
    assert first.used == (1, 2, 3)
    assert {n.code for n in first.notes} == {"together_other_panel", "together_frame"}
    assert "a" in first.left_out[0][1].text


def test_two_different_panels() -> None:
    with pytest.raises(InputError, match=r"No two of these photos show the same marks: a, b\."):
        tie([seen_by(drawn(7), 1), seen_by(drawn(8), 2)], NAMES[:2])


def test_two_photos_of_which_one_is_wrong() -> None:
    """Two photos cannot tell which of them is wrong: said as it is, not as another panel."""
    true = drawn(7)
    wrong = np.zeros(10)
    wrong[[0, 6]] = 2.0
    with pytest.raises(InputError, match="same marks, measured differently"):
        tie([seen_by(true, 1), seen_by(true, 2, error=wrong)], NAMES[:2])


def test_one_photo_is_not_together() -> None:
    with pytest.raises(InputError, match="two photos or more"):
        tie([seen_by(drawn(7), 1)], NAMES[:1])


def test_photo_with_a_wrong_side_is_left_out() -> None:
    """One map wrong by a millimetre on one side, far beyond what it claims: named, and it spoils nothing."""
    true = drawn(9)
    wrong = np.zeros(10)
    wrong[[0, 6]] = 1.0
    seen = [seen_by(true, k) for k in range(3)] + [seen_by(true, 30, error=wrong)]
    found = tie(seen, NAMES[:4])
    assert found.used == (0, 1, 2)
    assert [(i, n.code) for i, n in found.left_out] == [(3, "together_wrong_map")]
    assert rms([end_errors(found.marks, true)]) < CORNER_MM


def test_spoke_hidden_in_one_photo() -> None:
    """Glare over one spoke in the first photo: the others still give it."""
    from dataclasses import replace

    true = drawn(10)
    seen = [seen_by(true, k) for k in range(3)]
    seen[0] = replace(seen[0], spokes=seen[0].spokes[:3] + seen[0].spokes[4:])
    found = tie(seen, NAMES[:3])
    assert len(found.marks.spokes) == len(true.spokes)
    assert np.abs(end_errors(found.marks, true)).max() < 4 * CORNER_MM


def test_stray_seen_by_one_photo_is_no_mark() -> None:
    """A shadow taken for a ring in one photo of three is not in the answer."""
    from dataclasses import replace

    true = drawn(11)
    seen = [seen_by(true, k) for k in range(3)]
    stray = replace(seen[1].rings[2], radius_mm=seen[1].rings[2].radius_mm + 11.0)
    seen[1] = replace(seen[1], rings=(*seen[1].rings, stray))
    assert len(tie(seen, NAMES[:3]).marks.rings) == len(true.rings)
