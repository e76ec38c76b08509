"""Lay out the handout: the finished piece and its plan, what it takes, and every step."""

from aligncheck.record.gallery import Gallery
from aligncheck.record.handout.plan import draw_plan
from aligncheck.record.handout.sheet import HEIGHT_MM, MARGIN_MM, WIDTH_MM, Sheet

#: Steps across and down a sheet, and the most sheets of them: three pages in all.
ACROSS, DOWN, SHEETS = 3, 3, 2
GAP_MM = 8.0
PICTURE_PX, STEP_PX = 1000, 560


def handout_pdf(gallery: Gallery) -> bytes:
    """The handout as a PDF of A4 pages; pictures are drawn anew and carry nothing of the photos but the dates below."""
    piece = gallery.record.piece
    sheet = Sheet(piece.name)
    _front(sheet, gallery)
    for index in range(0, len(steps := _steps(len(gallery.stages))), ACROSS * DOWN):
        sheet.next_sheet()
        title = f"{piece.name}: step by step"
        sheet.paragraph(MARGIN_MM, MARGIN_MM, title, 5.2, WIDTH_MM - 2 * MARGIN_MM, bold=True, most=2)
        for place, k in enumerate(steps[index : index + ACROSS * DOWN]):
            _step(sheet, gallery, k, place)
    return sheet.pdf()


def _front(sheet: Sheet, gallery: Gallery) -> None:
    """Name, picture, plan, and the painter's lists."""
    piece, whole = gallery.record.piece, WIDTH_MM - 2 * MARGIN_MM
    half = (whole - GAP_MM) / 2
    y = sheet.paragraph(MARGIN_MM, MARGIN_MM - 2, piece.name, 8.0, whole, bold=True, most=2) + 2.0
    if piece.about:
        y = sheet.paragraph(MARGIN_MM, y, piece.about, 3.9, whole, most=4) + 2.0
    last = max((k for k, r in enumerate(gallery.results) if r), default=len(gallery.stages) - 1)
    width, height = gallery.views.size_px(PICTURE_PX)
    tall = half * height / width
    sheet.picture(MARGIN_MM, y, half, tall, gallery.views.picture(last, PICTURE_PX))
    caption = f"{gallery.stages[last].title}, {gallery.date(last)}"
    below = sheet.paragraph(MARGIN_MM, y + tall + 1.0, caption, 3.3, half, most=2)
    marked = next((r for r in gallery.results if r and (r["spokes"] or r["rings"])), None)
    if marked:
        below = max(below, draw_plan(sheet, MARGIN_MM + half + GAP_MM, y, half, marked))
    lists = (("Rows, from the middle outward", gallery.rows()), ("Colours", piece.colours))
    others = (("Tools", piece.tools), ("Take care", piece.cautions))
    for x, column in ((MARGIN_MM, lists), (MARGIN_MM + half + GAP_MM, others)):
        y = below + 5.0
        for title, lines in column:
            if lines and y < HEIGHT_MM - 2 * MARGIN_MM:
                y = sheet.items(x, y, title, _fitting(lines, y), half)


def _fitting(lines: tuple[str, ...], y: float) -> list[str]:
    """As many lines as the sheet still has room for, each counted as one and a half; the rest is on the page."""
    room = max(1, int((HEIGHT_MM - MARGIN_MM - 8.0 - y) / (1.5 * 5.2)))
    return [*lines] if len(lines) <= room else [*lines[: room - 1], f"and {len(lines) - room + 1} more, on the page"]


def _steps(count: int) -> list[int]:
    """The stages to show, spread evenly where there are too many, the first and the last among them."""
    most = ACROSS * DOWN * SHEETS
    if count <= most:
        return list(range(count))
    return [round(k * (count - 1) / (most - 1)) for k in range(most)]


def _step(sheet: Sheet, gallery: Gallery, k: int, place: int) -> None:
    """One stage in its place of the grid."""
    stage = gallery.stages[k]
    wide = (WIDTH_MM - 2 * MARGIN_MM - (ACROSS - 1) * GAP_MM) / ACROSS
    width, height = gallery.views.size_px(STEP_PX)
    tall = min(wide * height / width, wide)
    x = MARGIN_MM + (place % ACROSS) * (wide + GAP_MM)
    y = MARGIN_MM + 10.0 + (place // ACROSS) * (HEIGHT_MM - 2 * MARGIN_MM - 10.0) / DOWN
    sheet.picture(x, y, tall * width / height, tall, gallery.views.picture(k, STEP_PX))
    y = sheet.paragraph(x, y + tall + 1.0, f"{k + 1}  {stage.title}", 3.8, wide, bold=True, most=2)
    y = sheet.paragraph(x, y, f"{gallery.date(k)}. {stage.headline}.", 3.2, wide, most=2)
    if stage.note:
        sheet.paragraph(x, y, stage.note, 3.2, wide, most=3)
