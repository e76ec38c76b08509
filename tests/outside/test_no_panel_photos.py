"""Real photographs without a panel of ours, from Debian's package opencv-doc (examples/data): all must be refused.

The hardest is sudoku.png, taken with a phone: a printed puzzle on curled paper, nine boxes of nine squares, each
like a panel with a drawing. Books, boards, cards and walls are the other things with four corners.
"""

from pathlib import Path

import cv2
import pytest

from aligncheck.errors import AligncheckError
from aligncheck.panel import find_panel
from tests.panel.drawn import as_photo

PHOTOS = Path("/usr/share/doc/opencv-doc/examples/data")
NAMES = (
    "sudoku.png",
    "graf1.png",
    "box_in_scene.png",
    "board.jpg",
    "cards.png",
    "home.jpg",
    "building.jpg",
    "stuff.jpg",
)
#: Small pictures are refused for their size alone, so all are made as large as this.
LONG_SIDE_PX = 2200

pytestmark = pytest.mark.skipif(
    not (PHOTOS / "sudoku.png").exists(), reason="needs the photographs of Debian's package opencv-doc"
)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_no_panel_is_refused(name: str) -> None:
    picture = cv2.imread(str(PHOTOS / name))
    scale = LONG_SIDE_PX / max(picture.shape[:2])
    larger = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    with pytest.raises(AligncheckError):
        find_panel(as_photo(cv2.cvtColor(larger, cv2.COLOR_BGR2RGB)), 200, 200)
