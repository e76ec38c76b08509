"""The ready-made files in calibration/ are what the program makes and reads today."""

from pathlib import Path

import pytest

from aligncheck.lens.board import PAPERS
from aligncheck.lens.find import example_folder
from aligncheck.lens.profile import read_profile
from aligncheck.paper import lens_board_pdf

FOLDER = Path(__file__).parents[2] / "calibration"


@pytest.mark.parametrize("paper", PAPERS)
def test_ready_made_boards_are_current(paper: str) -> None:
    """Made again, byte for byte; a newer PDF library may write it otherwise, then their length in pages must agree."""
    made = lens_board_pdf(paper)
    kept = (FOLDER / f"lens-board-{paper}.pdf").read_bytes()
    if made != kept:
        import numpy as np
        import pypdfium2

        pages = [pypdfium2.PdfDocument(pdf)[0].render(scale=2).to_numpy() for pdf in (made, kept)]
        assert np.abs(pages[0].astype(int) - pages[1]).mean() < 0.5


def test_example_profiles_can_be_read() -> None:
    assert example_folder() == FOLDER
    examples = sorted(FOLDER.glob("*.json"))
    assert examples
    for path in examples:
        assert read_profile(path).camera.model
