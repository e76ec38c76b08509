"""The printed sheet measured back from a rendering at 600 dpi."""

import cv2
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.lens.board import COLUMNS, PAPERS, ROWS, charuco_board
from aligncheck.paper import lens_board_pdf

DPI = 600
#: ISO 216 (A4, A3) and ANSI A, landscape, mm.
SIZES = {"a4": (297.0, 210.0), "a3": (420.0, 297.0), "letter": (279.4, 215.9)}


def rendered(pdf: bytes, dpi: float = DPI) -> NDArray[np.uint8]:
    page = pypdfium2.PdfDocument(pdf)[0]
    return np.asarray(page.render(scale=dpi / 72).to_pil().convert("L"))


@pytest.mark.parametrize("paper", PAPERS)
def test_page_size(paper: str) -> None:
    """The page is the standard's, to a hundredth of a millimetre."""
    document = pypdfium2.PdfDocument(lens_board_pdf(paper))
    assert len(document) == 1
    size = [v / 72 * 25.4 for v in document[0].get_size()]
    assert size == pytest.approx(SIZES[paper], abs=0.01)


def ruler_length_mm(page: NDArray[np.uint8]) -> float:
    """Distance between the middles of the across ruler's first and last mark, found in the pixels."""
    mm = DPI / 25.4
    paper = PAPERS["a4"]
    left = (paper.width_mm - COLUMNS * paper.square_mm) / 2
    base = 10.0 + ROWS * paper.square_mm + 12.0
    # A row through the long marks only, between their tips and the middle ones'.
    row = 255 - page[round((base - 3.3) * mm)].astype(float)
    spots = row[round((left - 2) * mm) : round((left + 104) * mm)]
    dark = np.flatnonzero(spots > 100)
    groups = np.split(dark, np.flatnonzero(np.diff(dark) > 3) + 1)
    middles = [float(np.average(g, weights=spots[g])) for g in groups]
    assert len(middles) == 11
    return (middles[-1] - middles[0]) / mm


def test_ruler_is_true() -> None:
    """100 mm to 0.05 mm."""
    assert ruler_length_mm(rendered(lens_board_pdf("a4"))) == pytest.approx(100.0, abs=0.05)


def test_ruler_makes_up_for_the_printer() -> None:
    """A printer that makes 99.4 mm of 100 gets a sheet that it prints true."""
    length = ruler_length_mm_of_scaled(99.4)
    assert length * 0.994 == pytest.approx(100.0, abs=0.05)


def ruler_length_mm_of_scaled(ruler_mm: float) -> float:
    """The same ruler on the sheet drawn larger: shrink the page as that printer would and measure as before."""
    page = rendered(lens_board_pdf("a4", ruler_mm))
    k = ruler_mm / 100
    shrunk = cv2.warpAffine(page, np.float32([[k, 0, 0], [0, k, 0]]), page.shape[::-1], borderValue=255)
    return ruler_length_mm(np.asarray(shrunk, np.uint8)) / k


@pytest.mark.parametrize("paper", PAPERS)
def test_board_is_where_the_detector_expects_it(paper: str) -> None:
    """Every inner corner of the printed board lies on its grid to 0.03 mm."""
    dpi = 200
    page = rendered(lens_board_pdf(paper), dpi)
    corners, ids, _, _ = cv2.aruco.CharucoDetector(charuco_board()).detectBoard(page)
    assert len(ids) == (COLUMNS - 1) * (ROWS - 1)
    sheet = PAPERS[paper]
    left = (sheet.width_mm - COLUMNS * sheet.square_mm) / 2
    places = np.asarray(charuco_board().getChessboardCorners())[ids.ravel(), :2] * sheet.square_mm + (left, 10.0)
    # The picture has whole pixels, so it is a hair off its nominal resolution.
    mm = (corners.reshape(-1, 2) + 0.5) * (sheet.width_mm / page.shape[1], sheet.height_mm / page.shape[0])
    assert np.abs(mm - places).max() < 0.06


def test_nothing_near_the_edge() -> None:
    """No printer needs more than 5 mm of blank border."""
    for paper in PAPERS:
        page = rendered(lens_board_pdf(paper), 100)
        border = round(5 / 25.4 * 100)
        assert page[:border].min() == page[-border:].min() == page[:, :border].min() == page[:, -border:].min() == 255


def test_same_bytes_every_time() -> None:
    """The ready-made files can be compared with what the program writes."""
    assert lens_board_pdf("a3") == lens_board_pdf("a3")


def test_unknown_paper_or_ruler() -> None:
    with pytest.raises(InputError, match=r"a5 is not known\. Name one of a4, a3, letter"):
        lens_board_pdf("a5")
    with pytest.raises(InputError, match="a slip"):
        lens_board_pdf("a4", 10.0)
