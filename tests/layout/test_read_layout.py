"""Layout files: what they may say, and how a slip is told."""

from pathlib import Path

import pytest

from aligncheck.errors import InputError
from aligncheck.layout import Layout, parse_layout, read_layout


def test_everything_that_a_layout_can_say() -> None:
    text = """
    segments = 20
    rotation_deg = 9
    ring_radii_mm = [6.35, 15.9, "4 1/4 in", 170]
    centre = "panel"
    edge_margin_mm = "1/4in"
    tolerance_mm = 0.5
    """
    assert parse_layout(text) == Layout(20, 9.0, (6.35, 15.9, 107.95, 170.0), None, "panel", 6.35, 0.5)


def test_what_is_left_out_is_taken_from_the_marks() -> None:
    assert parse_layout("") == Layout()
    assert parse_layout('rotation_deg = "free"\nring_pitch_mm = 12.7') == Layout(ring_pitch_mm=12.7)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# mine\nsegmets = 12", r'line 2: "segmets" is not known. Did you mean "segments"\?'),
        ("segments = 12\n\nzzz = 1", 'line 3: "zzz" is not known. Known are: segments'),
        ("[rings]\npitch = 3", 'line 1: "rings" is not known'),
        ("segments = 12\nrotation_deg = ", r"line 2 \(rotation_deg\): not understood"),
        ("segments = 12\ncentre = mark", r"line 2 \(centre\): not understood"),
        ("segments = 12\nsegments = 13", r"line 2 \(segments\): not understood"),
        ("ring_radii_mm = [1, 2", r"line 1 \(ring_radii_mm\): not understood"),
        ("segments = 1.5", "line 1: segments must be a whole number"),
        ("segments = true", "line 1: segments must be a whole number"),
        ("segments = 1", "line 1: segments must be a whole number"),
        ("\nrotation_deg = nan", "line 2: rotation_deg must be degrees"),
        ('rotation_deg = "fre"', "line 1: rotation_deg must be degrees"),
        ("ring_radii_mm = [25, 12]", "line 1: ring_radii_mm must be radii from the inside out"),
        ("ring_radii_mm = []", "line 1: ring_radii_mm must be a list"),
        ("ring_pitch_mm = 0", "line 1: ring_pitch_mm must be a length above zero"),
        ('ring_pitch_mm = "wide"', "line 1: ring_pitch_mm must be a length"),
        ('centre = "middle"', 'line 1: centre must be "mark" or "panel"'),
        ("tolerance_mm = -1", "line 1: tolerance_mm must be a length"),
        ("ring_pitch_mm = 10\nring_radii_mm = [10]", "give ring_radii_mm or ring_pitch_mm, not both"),
    ],
)
def test_a_slip_names_its_line_and_key(text: str, words: str) -> None:
    with pytest.raises(InputError, match=f"Layout file mine.toml, .*{words}"):
        parse_layout(text, "mine.toml")


def test_files_are_read_and_what_is_no_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "layout.toml"
    path.write_bytes(b"\xef\xbb\xbfsegments = 8\r\n")
    assert read_layout(path).segments == 8
    path.write_bytes(b"\xff\xfe\x00")
    for bad in (path, tmp_path, tmp_path / "none.toml"):
        with pytest.raises(InputError, match=f"layout file {bad.name} cannot be read") as caught:
            read_layout(bad)
        assert caught.value.code == "layout_unreadable"
