"""Traced rows in words: which petal is short by how much, and what the rows have in common."""

from collections.abc import Sequence

from aligncheck.margin.frame import USUAL_REBATE_MM
from aligncheck.rows import Petal, Row, Rows
from aligncheck.units import clock
from aligncheck.words import phrases

LONGER = "Row {row}, {place}: draw its tip {mm} mm further out, ± {u95} mm."
ROW = "Row {row}: {count} petals {place}, tips {mm} mm from the centre, {edge} mm from the edge."
CLOSEST = "Its tip at {place} comes closest to a side, the {side}: {edge} mm, ± {u95} mm; {spare}."
BESIDE = "{mm} mm stay clear of a frame that covers {rebate} mm{usual}"
UNDER = "a frame that covers {rebate} mm{usual} hides {mm} mm of it"
USUAL = ", as is usual"
FIRST = "First row {row}, {place}: tip {mm} mm short"
HEADLINE = "Lengthen {what}"
PLATE_ROW, PLATE_WAY = "row {row}", "out"
LEGEND_SHORT, LEGEND_PLAN_TIP = "petal drawn short", "where its tip belongs"


def petal_place(petal: Petal) -> str:
    """Where a petal stands, by the clock."""
    return clock(petal.ideal_deg)


def headline(short: Sequence[Petal]) -> tuple[str, str]:
    """What to do about short petals, and the first of them."""
    first = short[0]
    second = FIRST.format(row=first.row, place=petal_place(first), mm=phrases.mm(first.inward_mm))
    return HEADLINE.format(what=phrases.count(len(short), "petal")), second


def short_lines(rows: Rows) -> list[str]:
    """One line for each short petal, the shortest first."""
    return [
        LONGER.format(
            row=petal.row,
            place=petal_place(petal),
            mm=phrases.mm(petal.inward_mm),
            u95=phrases.plus_minus(petal.inward_u95_mm),
        )
        for petal in rows.short
    ]


def row_lines(rows: Rows, rebate_mm: float | None = None) -> list[str]:
    """One line for each row, and how close the outermost comes to the edge and under a frame's rebate."""
    lines = [_row_line(row) for row in rows.rows]
    outer = max(rows.rows, key=lambda row: row.tip_radius_mm, default=None)
    if outer is not None and outer.edge_side is not None and outer.edge_u95_mm is not None:
        lines.insert(rows.rows.index(outer) + 1, _closest(outer, rebate_mm))
    return lines


def _row_line(row: Row) -> str:
    edge, radius = phrases.mm(row.edge_mm), phrases.mm(row.tip_radius_mm)
    return ROW.format(row=row.number, count=len(row.petals), place=row.place, mm=radius, edge=edge)


def _closest(row: Row, rebate_mm: float | None) -> str:
    """The tip that comes closest to a side, and what a frame does to it."""
    petal = next(p for p in row.petals if p.segment == row.edge_segment)
    rebate = USUAL_REBATE_MM if rebate_mm is None else rebate_mm
    spare = row.edge_mm - rebate
    usual = USUAL if rebate_mm is None else ""
    words = (BESIDE if spare >= 0 else UNDER).format(mm=phrases.mm(spare), rebate=f"{rebate:g}", usual=usual)
    u95 = phrases.plus_minus(row.edge_u95_mm or 0.0)
    return CLOSEST.format(
        place=petal_place(petal), side=row.edge_side, edge=phrases.mm(row.edge_mm), u95=u95, spare=words
    )
