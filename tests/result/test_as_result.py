"""The result file: fixed keys, the schema, unknown as null."""

import copy
import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest

from aligncheck.checking import Check
from aligncheck.drift import measure_drift
from aligncheck.layout import Layout
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Line, Marks, Ring, Spoke
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Camera, Photo
from aligncheck.result import as_result, result_schema
from aligncheck.result.write import as_jpeg, as_json

#: The keys that other programs rely on, by part.
FIXED = {
    "": "schema stage photo lens panel centre spokes_meet segments rotation_deg rotation_u95_deg "
    "tolerance_mm spokes rings notes",
    "photo": "file sha256 width_px height_px taken f35_mm",
    "lens": "source focal_px cx_px cy_px k1 k2",
    "panel": "width_mm height_mm corners_px corner_u95_mm photo_to_panel",
    "centre": "x_mm y_mm u95_mm source",
    "spokes_meet": "x_mm y_mm u95_mm",
    "spokes": "angle_deg angle_u95_deg ideal_deg drift_deg drift_u95_deg inner_mm outer_mm miss_mm miss_u95_mm move_mm "
    "move_u95_mm verdict strokes",
    "rings": "number centre_mm radius_mm radius_u95_mm roundness_mm ideal_radius_mm drift_mm drift_u95_mm verdict",
    "notes": "code text",
}


def spoke(place: int) -> Spoke:
    a = np.radians(11.0 + 120 * place)
    out = np.array([np.sin(a), -np.cos(a)])
    pieces = (Line(10 * out, 50 * out, 1e-3 * np.eye(2)), Line(50 * out, 99 * out, 1e-3 * np.eye(2)))
    return Spoke(10 * out, 99 * out, 1e-3 * np.eye(2), along_sd_mm=(0.2, 0.2), place=place, strokes=pieces[:place])


def make_check(**changes: object) -> Check:
    photo = Photo(
        np.zeros((60, 80, 3), np.uint8), sha256="0" * 64, taken="2026-05-23T15:03:10", camera=Camera(f35_mm=26.0)
    )
    corners = [[10.0, 8.0], [70.0, 6.0], [72.0, 52.0], [9.0, 54.0]]
    panel = Panel.from_corners(300, 250, Lens(60.0, 39.5, 29.5, source="panel"), corners, 0.01 * np.eye(10))
    marks = Marks(
        panel,
        Centre(np.array([0.1, 0.2]), 1e-3 * np.eye(2), "mark"),
        Centre(np.array([0.2, 0.2]), 1e-3 * np.eye(2), "spokes"),
        3,
        tuple(spoke(k) for k in range(3)),
        (Ring(np.zeros(2), 25.0, 1e-4 * np.eye(3)), Ring(np.zeros(2), 50.2, 1e-4 * np.eye(3))),
    )
    marks = replace(marks, **changes)
    return Check(photo, panel, marks, measure_drift(marks), notes=(Note("centre_hidden"),))


def valid(result: dict) -> None:
    jsonschema.Draft202012Validator(result_schema()).validate(json.loads(as_json(result)))


def test_every_fixed_key_is_there_and_required() -> None:
    result = as_result(make_check())
    valid(result)
    for part, keys in FIXED.items():
        one = result[part] if part else result
        one = one[0] if isinstance(one, list) else one
        assert set(keys.split()) <= set(one)
        for key in keys.split():
            broken = copy.deepcopy(result)
            inner = broken[part] if part else broken
            del (inner[0] if isinstance(inner, list) else inner)[key]
            with pytest.raises(jsonschema.ValidationError, match=f"'{key}' is a required property"):
                valid(broken)


def test_what_is_unknown_is_null_never_zero() -> None:
    check = make_check(spokes=(), rings=(), spokes_meet=None)
    check = replace(check, photo=replace(check.photo, sha256=None, taken=None, camera=Camera()))
    result = as_result(check)
    valid(result)
    assert result["spokes_meet"] == {"x_mm": None, "y_mm": None, "u95_mm": None}
    assert result["photo"]["f35_mm"] is result["photo"]["taken"] is result["photo"]["file"] is None
    assert result["rotation_deg"] is result["rotation_u95_deg"] is result["ring_pitch_mm"] is None
    assert (result["spokes"], result["rings"]) == ([], [])


def test_figures_are_those_of_the_values() -> None:
    check = make_check()
    result = as_result(check)
    for written, value in zip(result["spokes"], check.drift.spokes, strict=True):
        for key in ("angle_deg", "ideal_deg", "drift_deg", "miss_mm", "move_mm", "move_u95_mm"):
            assert written[key] == pytest.approx(getattr(value, key), abs=1e-4)
    assert [len(s["strokes"]) for s in result["spokes"]] == [0, 1, 2]
    assert result["notes"] == [{"code": "centre_hidden", "text": Note("centre_hidden").text}]
    np.testing.assert_array_equal(result["panel"]["photo_to_panel"], check.panel.photo_to_panel)


def test_the_centre_says_where_it_comes_from() -> None:
    check = make_check()
    assert as_result(check)["centre"]["source"] == "mark"
    about_panel = replace(check, drift=measure_drift(check.marks, Layout(centre="panel")))
    assert as_result(about_panel)["centre"] == {"x_mm": 0.0, "y_mm": 0.0, "u95_mm": 0.0, "source": "panel"}
    valid(as_result(about_panel))


@pytest.mark.parametrize(
    "later",
    [
        {"placement": dict.fromkeys(["dx_mm", "dx_u95_mm", "dy_mm", "dy_u95_mm", "turn_deg", "turn_u95_deg"], 0.1)},
        {"petals": [{"row": 1, "segment": 0, "tip_mm": [1, 2], "short": False}]},
        {
            "dots": [{"centre_mm": [1, 2], "diameter_mm": 3, "diameter_u95_mm": None, "oversize": True}],
            "missing_dots": [],
        },
        {"repeat": {"order": 12, "mean_departure_mm": 0.2}},
        {"stage": "painted", "centrepiece": None},
    ],
)
def test_keys_of_later_stages_fit_too(later: dict) -> None:
    valid({**as_result(make_check()), **later})


def test_numbers_that_are_none_are_never_written() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        as_json({"x": float("nan")})


def test_pictures_are_marked_and_stay_pictures(tmp_path) -> None:
    from PIL import Image

    from aligncheck.result.ours import is_our_picture

    red = np.zeros((40, 60, 3), np.uint8)
    red[..., 0] = 200
    path = tmp_path / "p.jpg"
    path.write_bytes(as_jpeg(red))
    assert is_our_picture(path)
    with Image.open(path) as image:
        assert np.abs(np.asarray(image).astype(int) - red).max() < 6
        image.save(tmp_path / "edited.jpg", comment=b"")
    assert not is_our_picture(tmp_path / "edited.jpg")


def test_dots_and_what_is_amiss_with_them_are_written() -> None:
    """Every part fits the schema; places refer to rings, dots to paints."""
    from tests.dots.made import amiss

    result = as_result(replace(make_check(), dots=amiss(), stage="painted"))
    valid(result)
    assert len(result["dots"]) == 35
    assert {d["ring"] for d in result["dots"]} == {1, 2, 3}
    assert result["missing_dots"][0]["ring"] == 3
    assert result["missing_dots"][0]["angle_deg"] == pytest.approx(90.0)
    assert result["misplaced_dots"][0]["outward_mm"] == pytest.approx(1.6)
    assert len(result["merged_dots"][0]["ends_mm"]) == 2
    assert result["other_paint_dots"][0]["paint"] == 1
    assert [ring["gap_mm"] for ring in result["dot_rings"]] == [7.0, 7.0, 7.0]
    assert result["dot_runs"][0]["step"] == pytest.approx(0.8)
    assert [paint["name"] for paint in result["paints"]] == ["poppy", None]
    for key in ("ring", "closing_gap_mm"):
        broken = copy.deepcopy(result)
        broken["dot_rings" if key != "ring" else "dots"][0][key] = "3"
        with pytest.raises(jsonschema.ValidationError):
            valid(broken)


def test_the_repeat_says_what_it_did_not_judge() -> None:
    from aligncheck.repeat import Repeat
    from aligncheck.repeat.repeat import OneSided

    repeat = Repeat(
        12, 0.6, 6, 0.4, 3.0, left_out=(3,), mirror_likeness=0.9, mirror_deg=7.0,
        one_sided=(OneSided(44.0, -9.0, 30.0, 18.0),), glare_share=0.2, glare_deg=(30.0, 150.0),
    )  # fmt: skip
    result = as_result(replace(make_check(), repeat=repeat, stage="painted"))
    valid(result)
    assert result["repeat"]["glare_deg"] == [30.0, 150.0]
    assert result["repeat"]["one_sided"][0]["off_axis_deg"] == -9.0
    assert result["repeat"]["mirror_deg"] == 7.0
    plain = as_result(replace(make_check(), repeat=Repeat(None, 0.02), stage="painted"))
    valid(plain)
    assert plain["repeat"]["mirror_deg"] is plain["repeat"]["glare_deg"] is None


def test_a_line_an_entry() -> None:
    """A line a spoke and a line a figure of the photo, and nothing lost by it."""
    result = {
        "schema": "x",
        "photo": {"file": "ä.jpg", "taken": None},
        "spokes": [{"a": 1.5}, {"a": [1, 2]}],
        "notes": [],
    }
    text = as_json(result).decode()
    assert json.loads(text) == result
    assert '\n  {"a": 1.5},\n  {"a": [1, 2]}\n' in text
    assert '\n  "file": "ä.jpg",\n' in text
    assert "\n" not in text.rsplit('"notes"', 1)[1].rstrip("}\n").strip()
