"""Contrast of the pages' colours by the formula of WCAG 2: a browser's checker cannot tell it for letters in SVG."""

import re
from itertools import product
from pathlib import Path

import pytest

import aligncheck

HOME = Path(aligncheck.__file__).parent
SHEETS = {"record": HOME / "record/page/page.css", "bench": HOME / "bench/static/bench.css"}
#: Letters and the grounds they stand on; chart letters may stand on the grey of the tolerance.
LETTERS = {
    "record": [("text", "ground"), ("quiet", "ground"), ("text", "band"), ("bone", "ink"), ("ground", "text")],
    "bench": [("text", "ground"), ("quiet", "ground"), ("text", "grey"), ("bone", "ink"), ("ground", "text")],
}
#: Shapes that mean something, against what lies beside them.
SHAPES = [("text", "ground"), ("quiet", "ground"), ("move", "ink"), ("bone", "ink")]


def _schemes(sheet: str) -> dict[str, dict[str, str]]:
    """The colours of a style sheet by scheme; print's, where it has its own."""
    css = SHEETS[sheet].read_text()
    found: dict[str, dict[str, str]] = {}
    light = dict(re.findall(r"--([\w-]+): ?(#[0-9a-fA-F]{6})", css.split("@media", 1)[0]))
    for name, media in (("dark", "prefers-color-scheme: dark"), ("print", "@media print")):
        part = css.split(media, 1)[1] if media in css else ""
        root = re.search(r":root ?{([^}]*)}", part[:600])
        found[name] = {**light, **(dict(re.findall(r"--([\w-]+): ?(#[0-9a-fA-F]{6})", root[1])) if root else {})}
    return {"light": light, **found}


def _contrast(one: str, other: str) -> float:
    def luminance(code: str) -> float:
        channels = (int(code[i : i + 2], 16) / 255 for i in (1, 3, 5))
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_is_that_of_the_standard() -> None:
    assert _contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert _contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize(("sheet", "scheme"), list(product(SHEETS, ("light", "dark", "print"))))
def test_letters_can_be_read(sheet: str, scheme: str) -> None:
    colours = _schemes(sheet)[scheme]
    for letter, ground in LETTERS[sheet]:
        assert _contrast(colours[letter], colours[ground]) >= 4.5, (letter, ground)


@pytest.mark.parametrize(("sheet", "scheme"), list(product(SHEETS, ("light", "dark", "print"))))
def test_shapes_can_be_seen(sheet: str, scheme: str) -> None:
    colours = _schemes(sheet)[scheme]
    for shape, ground in SHAPES:
        assert _contrast(colours[shape], colours[ground]) >= 3.0, (shape, ground)


@pytest.mark.parametrize("sheet", SHEETS)
def test_dark_is_not_light(sheet: str) -> None:
    schemes = _schemes(sheet)
    assert schemes["light"]["ground"] != schemes["dark"]["ground"]
