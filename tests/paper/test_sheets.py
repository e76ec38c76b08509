"""Sheets measured back from renderings at 600 dpi, by two programs that draw PDFs; every line within 0.1 mm."""

import math
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.layout import Layout
from aligncheck.paper.corrections_sheet import corrections_template
from aligncheck.paper.layout_sheet import layout_template, plan_of
from aligncheck.paper.start_sheet import start_template
from aligncheck.paper.template import template_pdf
from aligncheck.paper.tiles import OVERLAP_MM, PAPERS_MM, Tile, Tiling, registration_crosses, tile

DPI = 600
MM = DPI / 25.4
Page = NDArray[np.uint8]
Renderer = Callable[[bytes, Path], list[Page]]


def by_pdfium(pdf: bytes, folder: Path) -> list[Page]:
    pages = pypdfium2.PdfDocument(pdf)
    return [np.asarray(page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L")) for page in pages]


def by_poppler(pdf: bytes, folder: Path) -> list[Page]:
    program = shutil.which("pdftoppm")
    if program is None:
        pytest.skip("pdftoppm is not here: install Debian's poppler-utils")
    (folder / "sheet.pdf").write_bytes(pdf)
    subprocess.run([program, "-r", str(DPI), "-gray", str(folder / "sheet.pdf"), str(folder / "page")], check=True)
    return [np.asarray(cv2.imread(str(p), cv2.IMREAD_GRAYSCALE), np.uint8) for p in sorted(folder.glob("page*.pgm"))]


@pytest.fixture(params=[by_pdfium, by_poppler], ids=["pdfium", "poppler"])
def render(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[bytes], list[Page]]:
    return lambda pdf: request.param(pdf, tmp_path)


class Seen:
    """A rendered tile, read in the drawing's mm."""

    def __init__(self, page: Page, tiling: Tiling, number: int = 0):
        one = tiling.tiles[number]
        x, y = tiling.corner(one)
        self.page = page
        self.shift = np.array([x - one.left, y - one.top])

    def crossing(self, point: NDArray[np.float64], across: NDArray[np.float64], reach_mm: float = 1.2) -> float:
        """How far beyond `point`, along the unit vector `across`, the middle of the one line there lies, mm."""
        s = np.linspace(-reach_mm, reach_mm, 481)
        # Pixel centres are whole numbers here, the sheet's edge lies half a pixel before the first.
        at = ((point + s[:, None] * across + self.shift) * MM - 0.5).astype(np.float32)
        ink = 255.0 - cv2.remap(self.page, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR)[0]
        assert ink.max() > 60, f"no line at {point}"
        return float(np.average(s, weights=ink))


def unit(angle_deg: float) -> NDArray[np.float64]:
    return np.array([math.sin(math.radians(angle_deg)), -math.cos(math.radians(angle_deg))])


def test_layout_lines_are_true(render: Callable[[bytes], list[Page]]) -> None:
    """Rings, spokes and the outline of a small panel, on one A4 sheet."""
    template = layout_template(Layout(segments=10, rotation_deg=7.0, ring_pitch_mm=13.0), 150.0, 130.0)
    (page,) = render(template_pdf(template))
    seen = Seen(page, tile(template.bounds, "a4"))
    off = []
    for radius in (13.0, 26.0, 39.0, 52.0):
        off += [seen.crossing(radius * unit(a), unit(a)) for a in (2.0, 61.0, 135.0, 204.0, 300.0)]
    for k in range(10):
        a = 7.0 + 36 * k
        off += [seen.crossing(r * unit(a), unit(a + 90)) for r in (19.0, 33.0, 56.0)]
    off += [seen.crossing(np.array([sx * 75.0, y]), np.array([1.0, 0.0])) for sx in (-1, 1) for y in (-40.0, 21.0)]
    off += [seen.crossing(np.array([x, sy * 65.0]), np.array([0.0, 1.0])) for sy in (-1, 1) for x in (-40.0, 21.0)]
    assert np.abs(off).max() < 0.1


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_tiles_join(render: Callable[[bytes], list[Page]], paper: str) -> None:
    """A 12-inch panel over four sheets: lines go on where they must, crosses lie at one place on both neighbours."""
    template = layout_template(Layout(segments=12, ring_pitch_mm=12.7), 304.8, 304.8)
    tiling = tile(template.bounds, paper)
    pages = render(template_pdf(template, paper))
    assert len(pages) == len(tiling.tiles) == 4
    for number, (one, page) in enumerate(zip(tiling.tiles, pages, strict=True)):
        seen = Seen(page, tiling, number)
        quarter = {(0, 0): 315.0, (1, 0): 45.0, (1, 1): 135.0, (0, 1): 225.0}[one.column, one.row]
        off = [seen.crossing(12.7 * k * unit(quarter + 4), unit(quarter + 4)) for k in (3, 7, 10)]
        off += [seen.crossing(r * unit(quarter + 15), unit(quarter + 105)) for r in (57.0, 133.0)]
        # Only the outermost crosses: no drawn line lies near them. Through the arms, outside the circle.
        for cross in (c for c in registration_crosses(tiling) if max(map(abs, c)) > 140 and shows(one, c)):
            off.append(seen.crossing(np.array(cross) + (0, -3.0), np.array([1.0, 0.0])))
            off.append(seen.crossing(np.array(cross) + (3.0, 0), np.array([0.0, 1.0])))
        assert np.abs(off).max() < 0.1, one.name


def shows(one: Tile, point: tuple[float, float]) -> bool:
    return one.left < point[0] < one.left + one.width and one.top < point[1] < one.top + one.height


def test_start_disc_allows_for_the_pencil(render: Callable[[bytes], list[Page]]) -> None:
    """Cut edge half a pencil inside the circle; the traced line's middle then lies on it."""
    template = start_template(43.5, 2.0)
    (page,) = render(template_pdf(template))
    seen = Seen(page, tile(template.bounds, "a4"))
    off = [seen.crossing(42.5 * unit(a), unit(a), 0.6) for a in (10.0, 100.0, 200.0, 290.0)]
    assert np.abs(off).max() < 0.1


def result(moves: list[float], ring_drift: float = 0.0) -> dict[str, Any]:
    """A result of four spokes about a centre off the panel's middle, the moves in mm."""
    centre = np.array([1.5, -2.0])
    spokes = []
    for k, move in enumerate(moves):
        ideal = 10.0 + 90 * k
        outer = centre + 60 * unit(ideal) - move * unit(ideal + 90)
        inner = centre + 12 * unit(ideal)
        spokes.append({
            "inner_mm": inner.tolist(), "outer_mm": outer.tolist(), "ideal_deg": ideal, "move_mm": move,
            "verdict": "out" if abs(move) > 1 else "within",
        })  # fmt: skip
    ring = {
        "centre_mm": centre.tolist(), "radius_mm": 40 + ring_drift, "ideal_radius_mm": 40.0, "drift_mm": ring_drift,
        "verdict": "out" if abs(ring_drift) > 1 else "within",
    }  # fmt: skip
    return {
        "panel": {"width_mm": 160.0, "height_mm": 150.0}, "centre": {"x_mm": 1.5, "y_mm": -2.0}, "segments": 4,
        "spokes": spokes, "rings": [ring], "photo": {"file": "panel.jpg"},
    }  # fmt: skip


def test_corrections_stand_off_by_half_a_pencil(render: Callable[[bytes], list[Page]]) -> None:
    """The edge lies half a pencil beyond the ideal, on the side away from the wrong line, which shows in the window."""
    template = corrections_template(result([3.0, -2.0, 0.2, 0.1], ring_drift=1.8), 1.6)
    (page,) = render(template_pdf(template))
    seen = Seen(page, tile(template.bounds, "a4"))
    centre = np.array([1.5, -2.0])
    off = []
    for angle, side in ((10.0, 1.0), (100.0, -1.0)):
        for r in (25.0, 50.0):
            edge = centre + r * unit(angle) + side * 0.8 * unit(angle + 90)
            off.append(seen.crossing(edge, unit(angle + 90), 0.6))
    off += [seen.crossing(centre + 40.8 * unit(a), unit(a), 0.6) for a in (40.0, 55.0, 150.0, 235.0, 330.0)]
    assert np.abs(off).max() < 0.1


def test_corrections_of_photos_checked_together() -> None:
    """Where the result names several photos, the first gives the sheet its name."""
    several = {**result([3.0, 0.1, 0.2, 0.1]), "photo": [{"file": "one.jpg"}, {"file": "two.jpg"}]}
    assert corrections_template(several, 0.7).title == "Corrections for one.jpg"


@pytest.mark.parametrize("paper", [*PAPERS_MM, "one"])
@pytest.mark.parametrize("size", [(100.0, 80.0), (304.8, 304.8), (610.0, 400.0)])
def test_every_sheet_fits_its_paper(paper: str, size: tuple[float, float]) -> None:
    """Tiles cover the drawing, overlap by the strip, and leave border, name and ruler their room."""
    bounds = (-size[0] / 2, -size[1] / 2, *size)
    tiling = tile(bounds, paper)
    assert min(t.left for t in tiling.tiles) == pytest.approx(bounds[0])
    assert max(t.left + t.width for t in tiling.tiles) == pytest.approx(bounds[0] + bounds[2])
    assert max(t.top + t.height for t in tiling.tiles) == pytest.approx(bounds[1] + bounds[3])
    for one in tiling.tiles:
        x, y = tiling.corner(one)
        assert x >= 10 - 1e-9
        assert y >= 18 - 1e-9
        assert x + one.width <= tiling.sheet_mm[0] - 10 + 1e-9
        assert y + one.height <= tiling.sheet_mm[1] - 44 + 1e-9
        for other in tiling.tiles:
            if other.column == one.column + 1:
                assert one.left + one.width - other.left == pytest.approx(OVERLAP_MM)
    assert len({t.name for t in tiling.tiles}) == len(tiling.tiles)


def test_rings_fill_the_panel_up_to_the_frame() -> None:
    """Without a number, as many rings as leave a usual frame's strip free; the layout's own margin goes first."""
    assert plan_of(Layout(ring_pitch_mm=12.7), 304.8, 304.8).radii_mm == pytest.approx([12.7 * k for k in range(1, 12)])
    assert len(plan_of(Layout(ring_pitch_mm=10.0, edge_margin_mm=30.0), 200.0, 300.0).radii_mm) == 7


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: layout_template(Layout(), 300, 300), "nothing to draw"),
        (lambda: layout_template(Layout(ring_radii_mm=(160.0,)), 300, 300), "does not fit"),
        (lambda: start_template(2.0, 0.7), "start circle of 2 mm"),
        (lambda: start_template(40.0, 9.0), "no width of a pencil"),
        (lambda: corrections_template(result([0.1, 0.2, 0.3, 0.4]), 0.7), "nothing to mend"),
        (lambda: corrections_template({"panel": {}}, 0.7), "does not hold what the sheet needs"),
        (lambda: template_pdf(start_template(40.0, 0.7), "a7"), "a7 is not known"),
        (lambda: template_pdf(start_template(40.0, 0.7), "a4", 50.0), "a slip"),
    ],
)
def test_refusals(make: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert words in str(caught.value)
