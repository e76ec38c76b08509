"""`aligncheck margin` end to end on the shared rendered photo."""

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from aligncheck.result import result_schema
from tests.margin.true_margins import true_margins
from tests.truth import read_truth

Command = Callable[..., object]


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory, photo: Path) -> tuple[Path, str]:
    """The command run once: its folder, and what it printed."""
    import contextlib
    import io

    from aligncheck.cli import run

    folder = tmp_path_factory.mktemp("margin")
    out = io.StringIO()
    words = ["margin", str(photo), "--panel", "12x12in", "--rebate", "6mm", "--glass", "--out", str(folder)]
    with contextlib.redirect_stdout(out):
        assert run(words) == 0
    return folder, out.getvalue()


def test_result_holds_the_margin(done: tuple[Path, str], photo: Path) -> None:
    """The whole result with the key in it; the margins within a millimetre of what was drawn."""
    result = json.loads((done[0] / f"{photo.stem}.json").read_text())
    jsonschema.validate(result, result_schema())
    margin = result["margin"]
    found = np.array([margin[f"{side}_mm"] for side in ("top", "right", "bottom", "left")])
    assert np.abs(found - true_margins(read_truth(photo))).max() < 1.0
    assert margin["rebate_mm"] == 6.0
    assert result["spokes"]


def test_pictures_are_written(done: tuple[Path, str], photo: Path) -> None:
    for ending in (".flat.jpg", ".overlay.jpg", ".flat-overlay.jpg"):
        assert (done[0] / f"{photo.stem}{ending}").stat().st_size > 10_000


def test_lines(done: tuple[Path, str]) -> None:
    """Verdict first, then the sides, the middle, the frame and the glass."""
    lines = done[1].splitlines()
    assert lines[0].startswith("The frame ")
    assert [line.split(":")[0] for line in lines[2:6]] == ["Top", "Right", "Bottom", "Left"]
    assert lines[6].startswith("The design sits")
    assert "opening 308.0 x 308.0 mm" in lines[7]
    assert any("Glass must not touch" in line for line in lines)


def test_bad_input(tmp_path: Path, command: Command, photo: Path, bare: Path) -> None:
    """A rebate wider than the panel is told before any work; a bare panel has no margin; nothing is written."""
    for which, rebate, words in ((photo, "200mm", "would cover the whole panel"), (photo, "wide", "not a length")):
        ran = command("margin", which, "--panel", "12x12in", "--rebate", rebate, "--out", tmp_path / "out")
        assert (ran.status, ran.out) == (2, "")
        assert words in ran.err
    ran = command("margin", bare, "--panel", "12x12in", "--out", tmp_path / "out")
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 1
    assert not (tmp_path / "out").exists()
