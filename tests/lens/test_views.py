import numpy as np
import pytest

from aligncheck.errors import InputError
from aligncheck.lens.bend import Lens
from aligncheck.lens.board import COLUMNS, PAPERS, ROWS
from aligncheck.lens.sheet_sides import find_sheet_sides
from aligncheck.lens.views import View, find_board
from aligncheck.photo import Photo
from tests.lens.boards import PX_PER_MM, camera, own_sheet, photo, plain_sheet
from tests.render import Camera

#: Corners of sharp, even pictures are found this well, px rms; one tenth is what makes a lens wrong by 0.1 px.
CORNER_PX = 0.06


def true_own(view: View, seen: Camera) -> np.ndarray:
    """Where the printed board's corners really are in the picture."""
    paper = PAPERS["a4"]
    left = (paper.width_mm - COLUMNS * paper.square_mm) / 2
    mm = view.points * paper.square_mm + (left, 10.0) - (paper.width_mm / 2, paper.height_mm / 2)
    return seen.project_plane(mm)


def test_own_board_is_found_whole() -> None:
    """All 45 inner corners, each to a few hundredths of a pixel."""
    seen = camera(own_sheet(), tilt_deg=20, azimuth_deg=40, roll_deg=15, fill=0.85)
    view = find_board(photo(own_sheet(), seen))
    assert view.kind == "own" and len(view.points) == (COLUMNS - 1) * (ROWS - 1)
    off = view.pixels - true_own(view, seen)
    assert np.sqrt((off**2).sum(1).mean()) < 2 * CORNER_PX


@pytest.mark.parametrize("shift", [(0.45, 0.0), (-0.4, 0.3), (0.3, -0.45)])
def test_own_board_partly_outside(shift: tuple[float, float]) -> None:
    """A board that the picture cuts off still gives the corners that show, each known by its place."""
    seen = camera(own_sheet(), tilt_deg=15, azimuth_deg=100, fill=1.1, shift=shift)
    view = find_board(photo(own_sheet(), seen))
    assert view.kind == "own" and 8 <= len(view.points) < (COLUMNS - 1) * (ROWS - 1)
    assert np.linalg.norm(view.pixels - true_own(view, seen), axis=1).max() < 0.5


@pytest.mark.parametrize("squares", [(6, 5), (10, 7), (9, 9), (15, 11)])
def test_plain_chessboard_of_any_number(squares: tuple[int, int]) -> None:
    """A chessboard is found without its number of squares; none is left out or made up."""
    sheet = plain_sheet(*squares)
    seen = camera(sheet, tilt_deg=20, azimuth_deg=60, roll_deg=-10, fill=0.8)
    view = find_board(photo(sheet, seen))
    assert sorted(view.extent[1]) == sorted(squares)
    assert len(view.points) == (squares[0] - 1) * (squares[1] - 1)
    side = 20.0
    mm = (np.stack(np.meshgrid(np.arange(1, squares[0]), np.arange(1, squares[1])), -1) - np.array(squares) / 2) * side
    true = seen.project_plane(mm.reshape(-1, 2))
    nearest = np.linalg.norm(view.pixels[:, None] - true[None], axis=-1)
    assert np.sqrt((nearest.min(1) ** 2).mean()) < 2 * CORNER_PX
    assert len(set(nearest.argmin(1))) == len(true)


def test_given_squares_are_insisted_on() -> None:
    """A board of another size than the painter says is no board."""
    sheet = plain_sheet(8, 6)
    seen = photo(sheet, camera(sheet, tilt_deg=10, fill=0.8))
    assert len(find_board(seen, (8, 6)).points) == 35
    with pytest.raises(InputError, match="No board found"):
        find_board(seen, (9, 7))


def test_no_board() -> None:
    """A picture of noise and stripes has none."""
    rng = np.random.default_rng(5)
    stripes = 120 + 60 * np.sin(np.arange(800) / 9.0)[None, :, None] + rng.normal(0, 20, (600, 800, 3))
    with pytest.raises(InputError, match="No board found"):
        find_board(Photo(np.clip(stripes, 0, 255).astype(np.uint8)))


def test_board_too_small() -> None:
    """Squares of a few pixels are refused with their size and the next step."""
    sheet = plain_sheet(12, 9, margin_mm=20)
    far = photo(sheet, camera(sheet, fill=0.13), noise=0.5)
    with pytest.raises(InputError, match=r"only 14 pixels wide. Go closer"):
        find_board(far)


def test_sheet_sides_are_straight_and_in_place() -> None:
    """All four cut edges, to a few tenths of a pixel, out to the sheet's own corners."""
    sheet = plain_sheet(10, 7)
    seen = camera(sheet, tilt_deg=15, azimuth_deg=30, roll_deg=5, fill=0.85)
    rough = Lens(seen.f_px, seen.cx - 5, seen.cy + 4, 0.03, 0.0)
    shot = photo(sheet, seen)
    sides = find_sheet_sides(shot, find_board(shot), rough)
    assert len(sides) == 4
    half = np.array(sheet.shape[::-1]) / PX_PER_MM / 2
    for side in sides:
        mm = seen.plane_points(side.pixels)
        axis = int(np.ptp(mm, axis=0).argmin())
        # The drawn edge of the sheet's picture is half a sheet pixel wide on each side.
        assert np.abs(np.abs(mm[:, axis]) - half[axis]).max() < 0.12
        assert np.ptp(mm[:, 1 - axis]) > 1.6 * half[1 - axis]
