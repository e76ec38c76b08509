"""Petals and dots in the record: the chart's worst mark, what a stage shows, and what was mended since."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aligncheck.film.register import register
from aligncheck.geometry.angles import outward
from aligncheck.record import new_record, open_record
from aligncheck.record.describe import describe_piece
from aligncheck.record.export import export_record
from aligncheck.record.gallery import gather_record
from aligncheck.record.history import spoke_histories
from aligncheck.record.painted import mended, painted_lines
from aligncheck.record.progress import changes
from aligncheck.record.store import store
from aligncheck.record.worst import worst_marks
from tests.record.pieces import SEGMENTS, hand_drawn, result_of, shown


def _with_petals(result: dict[str, Any], short_by: dict[int, float], quarters: int = 0) -> dict[str, Any]:
    """The result with a row of petals 60 mm out, some short; panel turned back by quarters as `result_of` does it."""
    back = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), quarters)
    petals = []
    for k in range(SEGMENTS):
        ideal = (360.0 * k / SEGMENTS - 90.0 * quarters) % 360
        inward = short_by.get(k, 0.2)
        tip = (60.0 - inward) * outward(360.0 * k / SEGMENTS) @ back.T
        petals.append(
            {
                "row": 1, "segment": k + 1, "tip_mm": tip.tolist(), "ideal_radius_mm": 60.0, "ideal_deg": ideal,
                "inward_mm": inward, "inward_u95_mm": 0.5, "short": inward > 4.5,
            }
        )  # fmt: skip
    return {**result, "petals": petals, "stage": "rows"}


def _with_dots(result: dict[str, Any], left_out: set[int], big: set[int] = frozenset()) -> dict[str, Any]:
    """The result with a ring of dots 5 mm across; those left out are missing, those in `big` are 7 mm across."""
    places = {k: (70.0 * outward(360.0 * k / SEGMENTS)).tolist() for k in range(SEGMENTS)}
    dots = [
        {
            "centre_mm": p, "diameter_mm": 7.0 if k in big else 5.0, "diameter_u95_mm": 0.2, "oversize": k in big,
            "kind": 0,
        }
        for k, p in places.items() if k not in left_out
    ]  # fmt: skip
    missing = [{"centre_mm": places[k], "diameter_mm": 5.0, "kind": 0} for k in sorted(left_out)]
    return {**result, "dots": dots, "missing_dots": missing, "dot_kinds": [{"diameter_mm": 5.0}], "stage": "painted"}


def _laid(*results: dict[str, Any]) -> list[Any]:
    return [register(r, results[0]) for r in results]


def test_the_worst_mark_is_what_must_be_mended_first() -> None:
    plain = result_of(hand_drawn(spread_mm=0.2))
    stages = [plain, _with_petals(plain, {2: 6.2}), _with_petals(plain, {2: 3.0}), _with_dots(plain, set(), {4})]
    worst = worst_marks(stages, spoke_histories(stages, _laid(*stages)))
    assert [w and (w.kind, w.verdict) for w in worst[1::2]] == [("petal", "out"), ("dot", "out")]
    assert worst[1] and worst[1].mm == pytest.approx(6.2)
    assert worst[3] and worst[3].mm == pytest.approx(2.0)
    # A petal 3 mm short is within its own tolerance, and so goes behind nothing that is out.
    assert worst[2] and worst[2].verdict == "within"


def test_a_spoke_that_must_move_goes_before_a_petal_that_fits() -> None:
    spokes = hand_drawn(spread_mm=0.1)
    spokes[3][1] += 2.0 * outward(180.0)
    bad = _with_petals(result_of(spokes), {2: 4.0})
    (worst,) = worst_marks([bad], spoke_histories([bad], _laid(bad)))
    assert worst and (worst.kind, worst.verdict) == ("spoke", "out")


def test_beside_dots_a_short_petal_counts_and_a_spoke_does_not() -> None:
    """Half-way through painting: the petal can still be lengthened, the spoke below the paint cannot be moved."""
    spokes = hand_drawn(spread_mm=0.1)
    spokes[3][1] += 9.0 * outward(180.0)
    plain = result_of(spokes)
    stages = [_with_dots(_with_petals(plain, {2: 6.2}), set()), _with_dots(_with_petals(plain, {2: 6.2}), set(), {4})]
    worst = worst_marks(stages, spoke_histories(stages, _laid(*stages)))
    assert [w and (w.kind, w.verdict, round(w.mm, 1)) for w in worst] == [("petal", "out", 6.2)] * 2
    nothing = _with_dots(_with_petals(plain, {}), set())
    (within,) = worst_marks([nothing], spoke_histories([nothing], _laid(nothing)))
    assert within and within.kind != "spoke"
    assert within.verdict == "within"


def test_a_stage_tells_its_petals_and_dots_by_name() -> None:
    plain = result_of(hand_drawn())
    assert painted_lines(plain) == []
    assert painted_lines(_with_petals(plain, {2: 6.2})) == [
        "12 petals in 1 row, 1 short.", "Row 1, 2 o'clock: tip 6.2 mm short."
    ]  # fmt: skip
    lines = painted_lines(_with_dots(plain, {8}, {1}))
    assert lines[0] == "11 dots, 1 missing, 1 too big."
    assert lines[1:] == [
        "8 o'clock, 70 mm from the centre: a dot is missing.",
        "1 o'clock, 70 mm from the centre: dot 7.0 mm across, too big.",
    ]
    many = painted_lines(_with_dots(plain, set(range(9))))
    assert many[-1] == "And 3 more."


@pytest.mark.parametrize("quarters", [0, 1, 3])
def test_petals_lengthened_since_are_counted_whichever_way_the_panel_lies(quarters: int) -> None:
    spokes = hand_drawn()
    before = _with_petals(result_of(spokes), {2: 6.2, 7: 5.0})
    after = _with_petals(result_of(spokes, quarters=quarters, noise_mm=0.02), {7: 5.1}, quarters)
    laid = _laid(before, after)
    assert laid[1].quarters == quarters
    assert mended(before, after, laid).petals == 1
    assert "1 short petal lengthened" in changes(before, after, laid)
    assert mended(before, before, _laid(before, before)).petals == 0


def test_rows_stand_in_the_handout_as_measured_unless_the_painter_noted_them(tmp_path: Path) -> None:
    plain = result_of(hand_drawn())
    rows = [{"number": 1, "place": "on spokes", "tip_radius_mm": 59.8}]
    traced = {**_with_petals(plain, {}), "petal_rows": rows}
    folder = tmp_path / "piece"
    new_record(folder, "12x12in")
    for k, result in enumerate((traced, plain)):
        store(folder, shown(k, result, taken=f"2026-05-1{k}T10:00:00"))
    measured = "Row 1: 12 petals on spokes, tips 60 mm from the centre"
    assert gather_record(open_record(folder)).rows() == (measured,)
    html = next(p for p in export_record(folder, tmp_path / "out", 0) if p.suffix == ".html").read_text("utf-8")
    assert measured in html
    describe_piece(folder, {"rows": ("my own words",)})
    assert gather_record(open_record(folder)).rows() == ("my own words",)


def test_dots_painted_since_are_counted() -> None:
    plain = result_of(hand_drawn())
    before, after = _with_dots(plain, {3, 8}), _with_dots(plain, {3})
    assert mended(before, after, _laid(before, after)).dots == 1
    assert "1 missing dot painted" in changes(before, after, _laid(before, after))
    assert mended(after, before, _laid(after, before)).dots == 0
