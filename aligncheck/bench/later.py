"""Short petals and dots that are missing or too big, as rows of the page beside spokes and rings."""

from typing import Any

import numpy as np

from aligncheck.bench import dials
from aligncheck.bench.words import TEXT, say
from aligncheck.checking import Check
from aligncheck.geometry.angles import bearing
from aligncheck.units import clock
from aligncheck.words import phrases
from aligncheck.words.dots import gap_and_size_lines, other_lines
from aligncheck.words.petals import petal_place, short_lines

Row = dict[str, Any]

#: So many of each are shown; a photo in which more are off has another fault than its dots.
MOST_SHOWN = 6


def later_rows(check: Check) -> list[Row]:
    """What must be mended beyond spokes and rings, as plain values."""
    rows: list[Row] = []
    if check.rows is not None:
        rows += [
            {
                "what": "petal",
                "row": petal.row,
                "place": petal_place(petal),
                "deg": round(petal.ideal_deg, 2),
                "mm": round(petal.inward_mm, 3),
                "u95_mm": round(petal.inward_u95_mm, 3),
            }
            for petal in check.rows.short
        ]
    if check.dots is not None:
        kinds, centre = check.dots.kinds, check.dots.centre_mm
        rows += [
            {"what": "missing", "mm": gap.diameter_mm, **_place(gap.centre_mm - centre)} for gap in check.dots.missing
        ]
        for dot in check.dots.oversize:
            usual = kinds[dot.kind].diameter_mm if dot.kind is not None else dot.diameter_mm
            size = {
                "mm": round(dot.diameter_mm, 3),
                "u95_mm": round(dot.diameter_u95_mm, 3),
                "usual_mm": round(usual, 3),
            }
            rows.append({"what": "big", **size, **_place(dot.centre_mm - centre)})
    return rows


def row_sentences(check: Check) -> set[str]:
    """The findings' sentences that these rows stand for."""
    told = set(short_lines(check.rows)) if check.rows is not None else set()
    if check.dots is not None:
        told |= set(gap_and_size_lines(check.dots)) - set(other_lines(check.dots))
    return told


def shown_rows(rows: list[Row]) -> list[Row]:
    """The rows as the template sets them, each with its dial; of too many the rest is counted."""
    found: list[Row] = []
    for kinds in (("petal",), ("missing", "big")):
        some = [r for r in rows if r["what"] in kinds]
        found += [_shown(r) for r in some[:MOST_SHOWN]]
        if len(some) > MOST_SHOWN:
            found.append({"more": say("close_more", count=len(some) - MOST_SHOWN)})
    return found


def _shown(row: Row) -> Row:
    if row["what"] == "petal":
        return {
            "title": say("petal_title", row=row["row"], place=row["place"]),
            "second": TEXT["petal_out"],
            "mm": phrases.mm(row["mm"]),
            "under": f"± {phrases.plus_minus(row['u95_mm'])}",
            "dial": dials.petal_dial(row["deg"]),
        }
    big = row["what"] == "big"
    return {
        "title": row["place"][:1].upper() + row["place"][1:],
        "second": say("dot_big" if big else "dot_missing", mm=f"{row['from_mm']:.0f}"),
        "mm": phrases.mm(row["mm"]),
        "under": say("dot_like", mm=phrases.mm(row["usual_mm"])) if big else "",
        "dial": dials.dot_dial(row["deg"], big),
    }


def _place(arm: Any) -> Row:
    """Where a dot is, or should be: by the clock, and how far from the centre."""
    deg = float(bearing(arm))
    return {"place": clock(deg), "deg": round(deg, 2), "from_mm": round(float(np.hypot(*arm)), 2)}
