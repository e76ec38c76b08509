"""Words and small drawings of the page, without a server."""

import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from aligncheck.bench import dials, show
from aligncheck.bench.answers import templates
from aligncheck.bench.compare import lies, quarters_since, since
from aligncheck.bench.desk import Desk
from aligncheck.bench.jobs import Job
from aligncheck.bench.later import shown_rows
from aligncheck.bench.places import Places, clean_name
from aligncheck.bench.settings import Settings
from aligncheck.bench.words import REFUSED, TEXT, refused
from aligncheck.sentences import REFUSALS
from tests.record.pieces import hand_drawn, result_of


def answer(*moves: tuple[float, str], turned: float = 0.0) -> dict[str, Any]:
    spokes = [
        {"place": f"{k * 3 or 12} o'clock", "ideal_deg": (90.0 * k + turned) % 360, "move_mm": mm, "verdict": verdict}
        for k, (mm, verdict) in enumerate(moves)
    ]
    return {"segments": len(spokes), "spokes": spokes, "rings": []}


def test_comparison_tells_what_was_mended() -> None:
    before = answer((3.0, "out"), (0.1, "within"), (-2.0, "out"), (0.2, "within"))
    now = answer((0.2, "within"), (1.8, "out"), (-1.5, "out"), (0.2, "within"), turned=2.0)
    told = since(before, now)
    assert told["lines"] == ["1 spoke mended", "1 spoke still to move", "1 spoke to move that fitted before"]
    assert [(r["was"], r["now"]) for r in told["rows"]] == [
        ("3.0 mm", "fits"),
        ("0.1 mm", "1.8 mm to go"),
        ("2.0 mm", "1.5 mm to go"),
    ]


def test_comparison_of_other_counts_is_not_made() -> None:
    assert since(answer((3.0, "out")), answer((3.0, "out"), (0.0, "within")))["rows"] == []


def test_spoke_that_is_not_seen_any_more() -> None:
    now = answer((0.0, "within"), (0.0, "within"))
    now["spokes"] = now["spokes"][1:]
    assert since(answer((3.0, "out"), (0.0, "within")), now)["rows"][0]["now"] == "not seen"


@pytest.mark.parametrize(("move", "side"), [(1.0, 1), (-1.0, -1)])
def test_dial_arrow_goes_the_way_of_the_move(move: float, side: int) -> None:
    """At 12 o'clock, clockwise is to the right."""
    xs = [float(x) for x, _ in re.findall(r"([-\d.]+) ([-\d.]+)", dials.spoke_dial(0.0, move)["arrow"])]
    assert max(x * side for x in xs) > 8
    assert min(x * side for x in xs) > -1


def test_ring_too_large_points_inward() -> None:
    """The arrow's tip is the point furthest along its way; on a dial it lies on the ray to 12 o'clock."""
    ys = [float(y) for _, y in re.findall(r"([-\d.]+) ([-\d.]+)", dials.ring_dial(0.8)["arrow"])]
    assert max(ys) == -3.0
    ys = [float(y) for _, y in re.findall(r"([-\d.]+) ([-\d.]+)", dials.ring_dial(-0.8)["arrow"])]
    assert min(ys) == -17.0


def test_whisker_stays_in_its_box() -> None:
    assert dials.whisker(50.0, 1.0, 1.0) == {"value": 39.0, "low": 39.0, "high": 39.0, "grey": 18.0}
    assert dials.whisker(0.5, 0.25, 1.0)["value"] == 9.0


def test_every_refusal_has_words_without_options() -> None:
    """What a painter reads on her phone names no option of the command line."""
    for code in REFUSALS:
        reason, todo = refused(code, {})
        assert reason and todo
        assert code not in REFUSED or "--" not in reason + " ".join(todo)


def test_templates_use_words_that_exist() -> None:
    """No sentence stands in a template, and none that it names is missing."""
    home = Path(show.__file__).parent / "templates"
    for path in home.glob("*.html"):
        text = path.read_text("utf-8")
        templates().parse(text)
        for name in re.findall(r"\bt\.(\w+)", text) + re.findall(r"say\('(\w+)'", text):
            assert name in TEXT, (path.name, name)
        bare = re.sub(r"{%.*?%}|{{.*?}}|{#.*?#}|<[^>]*>", " ", text, flags=re.DOTALL)
        assert re.findall(r"[A-Za-z]{4,}", bare) in ([], ["aligncheck"], ["doctype"]), path.name


def test_values_of_sentences_are_named() -> None:
    for key, text in TEXT.items():
        assert all(name for _, name, _, _ in Formatter().parse(text) if name is not None), key


def test_names_of_places() -> None:
    assert clean_name("  Anna\n\x00\u202eB  " + "x" * 99) == "Anna B " + "x" * 33
    places = Places(most=2)
    first = places.new("A")
    first.jobs.append("job")
    second = places.new("B")
    places.new("C")
    assert places.get(first.id) is first
    assert places.get(second.id) is None


def test_what_comes_after_a_stop_is_not_entered(tmp_path: Path) -> None:
    """A worker may have sent its preview just as the painter pressed Stop: the page must still stand."""
    desk = Desk(Settings(folder=tmp_path, panel="12x12in"))
    place = desk.new_place()
    job_id, _ = desk.jobs.new_home()
    job = Job(job_id, place.id, "12x12in", 0.0, state="stopped")
    desk.jobs.add(job)
    desk._apply(job, {"event": "photo", "width_px": 4, "height_px": 3}, ["preview"])
    assert (job.state, job.pictures, job.size_px) == ("stopped", [], None)
    job.pictures = ["preview"]
    assert "Stopped" in page_of(job)


def page_of(job: Job) -> str:
    """The page of a job that was not measured."""
    values = {
        "job": job,
        "size": "",
        "time": "",
        "head": show.headline(job),
        "kept": None,
        "refusal": show.refusal(job),
    }
    return templates().get_template("refused.html").render(**values)


def lying(spokes: list[Any], quarters: int, moves: dict[int, tuple[float, str]]) -> dict[str, Any]:
    """An answer about a panel of twelve hand-drawn spokes that lies turned back by `quarters`."""
    result = result_of(spokes, quarters=quarters, noise_mm=0.03, seed=quarters)
    shown = []
    for k, drawn in enumerate(result["spokes"]):
        # The result's spokes stand in the order of their places as they lie now.
        mm, verdict = moves.get((k + 3 * quarters) % 12, (0.1, "within"))
        shown.append(
            {"place": f"{k or 12} o'clock", "ideal_deg": drawn["ideal_deg"], "move_mm": mm, "verdict": verdict}
        )
    return {"segments": 12, "spokes": shown, "rings": [], "lies": lies(result)}


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_comparison_follows_a_panel_that_was_turned(quarters: int) -> None:
    """The spoke at 4 o'clock was mended, and after a quarter turn anticlockwise it stands at 1 o'clock."""
    drawn = hand_drawn()
    before = lying(drawn, 0, {4: (3.0, "out"), 9: (2.0, "out")})
    mended = [spoke.copy() for spoke in drawn]
    mended[4][1] += [0.0, 2.0]
    now = lying(mended, quarters, {9: (2.0, "out")})
    assert quarters_since(before, now) == quarters
    told = since(before, now)
    assert told["lines"][-2:] == ["1 spoke mended", "1 spoke still to move"]
    assert ("turned" in told["lines"][0]) is (quarters > 0)
    names = {r["name"]: (r["was"], r["now"]) for r in told["rows"]}
    assert names == {
        f"{(4 - 3 * quarters) % 12 or 12} o'clock": ("3.0 mm", "fits"),
        f"{(9 - 3 * quarters) % 12 or 12} o'clock": ("2.0 mm", "2.0 mm to go"),
    }


def test_a_panel_drawn_too_regular_to_tell_is_taken_to_lie_as_before() -> None:
    exact = hand_drawn(spread_mm=0.0)
    assert quarters_since(lying(exact, 0, {}), lying(exact, 1, {})) == 0


def test_what_is_not_told_any_more_is_said_so() -> None:
    before = answer((3.0, "out"), (2.0, "out"), (0.0, "within"))
    now = answer((1.0, "unsure"), (0.0, "within"), (0.0, "within"))
    now["spokes"].pop(1)
    assert since(before, now)["lines"] == ["1 spoke too close to call now", "1 spoke not seen now"]
    fits = answer((0.0, "within"))
    assert since(fits, fits)["lines"] == ["Nothing had to move before, and nothing has now"]


def test_petals_and_dots_are_rows_and_of_too_many_the_rest_is_counted() -> None:
    rows = [{"what": "petal", "row": 2, "place": "2 o'clock", "deg": 60.0, "mm": 6.2, "u95_mm": 0.9}]
    rows += [{"what": "missing", "place": "half past 7", "deg": 225.0, "from_mm": 58.9, "mm": 4.0}] * 8
    shown = shown_rows(rows)
    assert (shown[0]["title"], shown[0]["mm"], shown[0]["under"]) == ("Row 2, 2 o'clock", "6.2", "± 0.9")
    assert (shown[1]["title"], shown[1]["second"]) == ("Half past 7", "a dot is missing, 59 mm from the centre")
    assert len(shown) == 1 + 6 + 1 and "2 more" in shown[-1]["more"]
    html = templates().from_string('{% import "parts.html" as p %}{{ p.later_rows(rows) }}').render(rows=shown)
    assert html.count("<li>") == 8


def test_petal_arrow_points_outward() -> None:
    """A petal at 3 o'clock: its arrow's tip is the point farthest to the right."""
    points = re.findall(r"([-\d.]+) ([-\d.]+)", dials.petal_dial(90.0)["arrow"])
    assert max(float(x) for x, _ in points) == 22.0
    assert max(abs(float(y)) for _, y in points) == 5.5


def refused_job(corners: Any) -> Job:
    values = {"corners_px": corners}
    job = Job("j", "p", "12x12in", 0.0, state="refused", size_px=[400, 300], pictures=["preview"])
    job.refusal = {"code": "panel_cut_off", "values": values}
    return job


def test_corners_that_are_cut_off_are_marked_at_the_pictures_edge() -> None:
    job = refused_job([[50, 60], [350, 70], [900, 320], [-90, 310]])
    cut = show.cut_corners(job)
    assert cut["seen"] == [(50.0, 60.0), (350.0, 70.0)]
    assert cut["off"] == [(352.0, 280.0), (48.0, 280.0)]
    assert show.headline(job)[2] == "Two corners of the panel are cut off."
    page = page_of(job)
    assert page.count(">cut off</text>") == 2 and page.count("<circle cx=") >= 2
    assert "Mark the corners by hand" in page


@pytest.mark.parametrize(
    "corners", [None, "x", [], [[1, 2]] * 3, [[1, 2, 3]] * 4, [["<b>", 1]] * 4, [[1e999, 0]] * 4, [[None, 1]] * 4]
)
def test_corners_that_are_none_are_not_believed(corners: Any) -> None:
    job = refused_job(corners)
    assert show.cut_corners(job)["off"] == []
    assert show.headline(job)[2] == "Part of the panel is cut off."
    assert "<b>" not in page_of(job).split("<main")[1].split("todo")[0].replace("<b></b>", "")


@pytest.mark.parametrize(
    ("stage", "kind", "words"),
    [
        ("marked", "fits", "Beads: these spokes fit."),
        ("painted", "fits", "Nothing is marked: every dot is as its like."),
        ("painted", "dots", "Marked: the dots to see to."),
    ],
)
def test_the_picture_without_arrows_is_explained(stage: str, kind: str, words: str) -> None:
    assert show.arrows_words({"moves": [], "stage": stage, "kind": kind}) == words
