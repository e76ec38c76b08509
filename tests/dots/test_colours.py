"""Colours of dots: one paint is one group in any light, and the painter's list names it."""

from pathlib import Path

import cv2
import numpy as np
import pytest

from aligncheck.dots import find_dots, read_paints, with_names
from aligncheck.dots.colours import as_rgb, groups
from aligncheck.dots.paints import named
from aligncheck.errors import InputError
from aligncheck.geometry.colour_difference import ciede2000
from tests.dots.painted import BLUE, GOLD, PIECE, RED, WHITE, Painting

PAINTS = {"poppy": RED, "sun": GOLD, "sea": BLUE, "chalk": WHITE}
OTHERS = {"leaf": (60, 130, 60), "ink": (20, 20, 30), "rose": (230, 150, 170), "rust": (150, 75, 35)}


def lab(rgb: tuple[int, int, int]) -> np.ndarray:
    return cv2.cvtColor(np.float32([[rgb]]) / 255, cv2.COLOR_RGB2Lab)[0, 0].astype(float)


def lamp(x, y):
    """Four times as light on one side, a little warm haze from below."""
    return 1 + 0.6 * x, 0.004 * (1 + y)


@pytest.mark.parametrize("light", [None, lamp])
def test_each_paint_is_one_group_and_gets_its_name(light) -> None:
    photo, marks = Painting(PIECE, light=light).draw()
    dots = find_dots(photo, marks, 12)
    assert dots is not None
    listed = {name: lab(rgb) for name, rgb in (PAINTS | OTHERS).items()}
    paints = with_names(dots, listed).arrangement.paints
    assert sorted(p.name for p in paints) == sorted(PAINTS)
    wanted = {"poppy": 36, "sun": 24, "sea": 24, "chalk": 12}
    assert {p.name: p.count for p in paints} == wanted


def test_groups_by_colour_difference() -> None:
    """Two clouds 20 apart are two paints, whatever their spread within; the larger stands first."""
    rng = np.random.default_rng(4)
    middles = np.array([[50.0, 40, 20], [50.0, 40, 45]])
    colours = np.concatenate([m + rng.normal(0, 0.8, (n, 3)) for m, n in zip(middles, (30, 50), strict=True)])
    assert ciede2000(*middles) > 8
    found, which = groups(colours)
    np.testing.assert_allclose(found, middles[::-1], atol=1)
    assert (which == np.r_[np.ones(30), np.zeros(50)]).all()


def test_a_paint_that_is_not_on_the_list_stays_without_a_name() -> None:
    listed = {"sea": lab(BLUE), "chalk": lab(WHITE), "sun": lab(GOLD)}
    seen = np.array([lab(BLUE), lab(WHITE), lab(GOLD), lab((40, 150, 50))])
    names = named(seen, np.ones(4), listed)
    assert [n and n[0] for n in names] == ["sea", "chalk", "sun", None]


def test_as_rgb_is_the_colour_itself() -> None:
    assert as_rgb(lab((0x3F, 0x89, 0xAA))) == "#3f89aa"


def test_a_list_of_paints(tmp_path: Path) -> None:
    """Bare or under [paints], as code or CIELAB."""
    path = tmp_path / "paints.toml"
    path.write_text('[paints]\n"sea blue" = "#3f89aa"\nwhite = [95, 0, 2.5]\n')
    listed = read_paints(path)
    assert list(listed) == ["sea blue", "white"]
    np.testing.assert_allclose(listed["white"], [95, 0, 2.5])
    np.testing.assert_allclose(listed["sea blue"], lab((0x3F, 0x89, 0xAA)), atol=1e-3)
    path.write_text('poppy = "c4383f"\n')
    assert list(read_paints(path)) == ["poppy"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("poppy = 3", "paints_value"),
        ('poppy = "red"', "paints_value"),
        ("poppy = [200, 0, 0]", "paints_value"),
        ("poppy = [50, true, 0]", "paints_value"),
        ("poppy", "paints_syntax"),
        ("", "paints_none"),
        ("[paints]", "paints_none"),
    ],
)
def test_slips_in_the_list_are_told(tmp_path: Path, text: str, code: str) -> None:
    path = tmp_path / "paints.toml"
    path.write_text(text)
    with pytest.raises(InputError) as slip:
        read_paints(path)
    assert slip.value.code == code
    assert "paints.toml" in str(slip.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('a = "#111111"\nsea green "#2e8b57"', "line 2: not understood"),
        ('a = "#111111"\na = "#111111"', "line 2: a name stands twice"),
        ("\nred =", "line 2: not understood"),
    ],
)
def test_the_line_of_a_slip_is_told_without_the_parsers_words(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "paints.toml"
    path.write_text(text)
    with pytest.raises(InputError) as slip:
        read_paints(path)
    assert str(slip.value).startswith(f"List of paints paints.toml, {told}. Write lines such as")


def test_a_list_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_paints(tmp_path / "none.toml")
