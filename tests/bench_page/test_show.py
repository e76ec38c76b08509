"""Words and small drawings of the page, without a server."""

import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from aligncheck.bench import dials, show
from aligncheck.bench.answers import templates
from aligncheck.bench.compare import since
from aligncheck.bench.desk import Desk
from aligncheck.bench.jobs import Job
from aligncheck.bench.places import Places, clean_name
from aligncheck.bench.settings import Settings
from aligncheck.bench.words import REFUSED, TEXT, refused
from aligncheck.sentences import REFUSALS


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
