"""Petals and dots through the stages: what each stage shows of them, and what was mended from one to another."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.film.register import Registration
from aligncheck.geometry.angles import bearing, wrap
from aligncheck.geometry.projective import apply_homography
from aligncheck.units import clock
from aligncheck.words.phrases import count, mm

Floats = NDArray[np.float64]
Result = Mapping[str, Any]

#: Two petals of two stages are one if their tips bear alike within this share of a segment, and reach alike within
#: this many mm of where the short one belongs: rows lie further apart.
SAME, SAME_MM = 0.25, 6.0
#: So many faults of a stage are named; the rest is counted.
MOST_NAMED = 6

PETALS = "{petals} in {rows}{short}."
SHORT, SHORT_ONE = ", {count} short", "Row {row}, {place}: tip {mm} mm short."
DOTS = "{dots}{faults}."
MISSING, BIG = ", {count} missing", ", {count} too big"
MISSING_ONE = "{place}, {mm} mm from the centre: a dot is missing."
BIG_ONE = "{place}, {mm} mm from the centre: dot {size} mm across, too big."
MORE = "And {count} more."
ROW = "Row {number}: {petals} {place}, tips {mm} mm from the centre"


@dataclass(frozen=True)
class Mended:
    """How many short petals and missing dots of one stage are right at another."""

    petals: int
    dots: int


def painted_lines(result: Result) -> list[str]:
    """What a stage shows of petals and dots, their faults by name; nothing where it shows none."""
    return [*_petal_lines(result), *_dot_lines(result)]


def row_lines(result: Result) -> tuple[str, ...]:
    """The rows of petals as a stage shows them, from the middle outward."""
    petals = result.get("petals") or ()
    return tuple(
        ROW.format(
            number=row["number"],
            petals=count(sum(p["row"] == row["number"] for p in petals), "petal"),
            place=row["place"],
            mm=f"{row['tip_radius_mm']:.0f}",
        )
        for row in result.get("petal_rows") or ()
    )


def mended(before: Result, after: Result, laid: Sequence[Registration | None]) -> Mended:
    """What was short or missing before and is right after; `laid` puts both into one frame."""
    first, last = laid
    if first is None or last is None:
        return Mended(0, 0)
    return Mended(_petals_mended(before, after, first, last), _dots_mended(before, after, first, last))


def _petal_lines(result: Result) -> list[str]:
    petals = result.get("petals") or ()
    if not petals:
        return []
    short = sorted((p for p in petals if p.get("short")), key=lambda p: -p["inward_mm"])
    rows = count(len({p["row"] for p in petals}), "row")
    head = PETALS.format(
        petals=count(len(petals), "petal"), rows=rows, short=SHORT.format(count=len(short)) if short else ""
    )
    named = [SHORT_ONE.format(row=p["row"], place=clock(p["ideal_deg"]), mm=mm(p["inward_mm"])) for p in short]
    return [head, *_named(named)]


def _dot_lines(result: Result) -> list[str]:
    dots, missing = result.get("dots") or (), result.get("missing_dots") or ()
    if not dots and not missing:
        return []
    big = sorted((d for d in dots if d.get("oversize")), key=lambda d: -d["diameter_mm"])
    faults = MISSING.format(count=len(missing)) if missing else ""
    faults += BIG.format(count=len(big)) if big else ""
    named = [MISSING_ONE.format(**_place(d, result)) for d in missing]
    named += [BIG_ONE.format(size=mm(d["diameter_mm"]), **_place(d, result)) for d in big]
    return [DOTS.format(dots=count(len(dots), "dot"), faults=faults), *_named(named)]


def _place(dot: Mapping[str, Any], result: Result) -> dict[str, str]:
    """Where a dot is, or should be, seen from the centre."""
    centre = [result["centre"]["x_mm"] or 0.0, result["centre"]["y_mm"] or 0.0]
    arm = np.array(dot["centre_mm"], float) - centre
    words = clock(float(bearing(arm)))
    return {"place": words[:1].upper() + words[1:], "mm": f"{float(np.hypot(*arm)):.0f}"}


def _named(lines: list[str]) -> list[str]:
    return lines if len(lines) <= MOST_NAMED else [*lines[:MOST_NAMED], MORE.format(count=len(lines) - MOST_NAMED)]


def _petals_mended(before: Result, after: Result, first: Registration, last: Registration) -> int:
    """Short petals that now reach as far as they should."""
    good = [p for p in after.get("petals") or () if not p.get("short")]
    if not good:
        return 0
    centre = apply_homography(last.matrix, np.array([[after["centre"]["x_mm"] or 0.0, after["centre"]["y_mm"] or 0.0]]))
    arms = apply_homography(last.matrix, np.array([p["tip_mm"] for p in good], float)) - centre
    far, ways = np.linalg.norm(arms, axis=1), bearing(arms)
    limit = SAME * 360.0 / max(int(before.get("segments") or 0), 1)
    found = 0
    for petal in before.get("petals") or ():
        if not petal.get("short"):
            continue
        way = petal["ideal_deg"] + 90.0 * first.quarters
        same = (np.abs(wrap(ways - way)) < limit) & (np.abs(far - petal["ideal_radius_mm"]) < SAME_MM)
        found += bool(same.any())
    return found


def _dots_mended(before: Result, after: Result, first: Registration, last: Registration) -> int:
    """Missing dots in whose place there is one now."""
    gaps, dots = before.get("missing_dots") or (), after.get("dots") or ()
    if not gaps or not dots:
        return 0
    there = apply_homography(last.matrix, np.array([d["centre_mm"] for d in dots], float))
    places = apply_homography(first.matrix, np.array([g["centre_mm"] for g in gaps], float))
    reach = np.array([max(float(g.get("diameter_mm") or 0.0) / 2, 1.0) for g in gaps])
    near = np.linalg.norm(places[:, None] - there[None], axis=2).min(axis=1)
    return int((near < reach).sum())
