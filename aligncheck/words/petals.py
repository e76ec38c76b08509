"""Traced rows in words: which petal is short by how much, and what the rows have in common."""

from collections.abc import Sequence

from aligncheck.rows import Petal, Row, Rows
from aligncheck.units import clock
from aligncheck.words import phrases

LONGER = "Row {row}, {place}: draw its tip {mm} mm further out, ± {u95} mm."
ROW = "Row {row}: {count} petals {place}, tips {mm} mm from the centre, {edge} mm from the edge."
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


def row_lines(rows: Rows) -> list[str]:
    """One line for each row."""
    return [_row_line(row) for row in rows.rows]


def _row_line(row: Row) -> str:
    edge, radius = phrases.mm(row.edge_mm), phrases.mm(row.tip_radius_mm)
    return ROW.format(row=row.number, count=len(row.petals), place=row.place, mm=radius, edge=edge)
