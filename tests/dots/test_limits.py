"""What could not be judged is said, and not held against the painter."""

from dataclasses import replace

import cv2
import numpy as np

from aligncheck.dots import Dots, find_dots
from aligncheck.geometry.angles import bearing
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.units import clock
from tests.dots.painted import PIECE, Painting


def found_in(painting: Painting) -> Dots:
    photo, marks = painting.draw()
    dots = find_dots(photo, marks, painting.order)
    assert dots is not None
    return dots


def codes(dots: Dots) -> list[str]:
    return [note.code for note in dots.notes]


def test_a_sharp_photo_of_a_whole_piece_leaves_nothing_open() -> None:
    assert found_in(Painting(PIECE)).notes == ()


def test_a_segment_that_nobody_painted_yet_is_not_missing() -> None:
    """Of a bare segment no dot is missing; one dot left out elsewhere is."""
    bare = {(kind, 4) for kind in range(len(PIECE))}
    dots = found_in(Painting(PIECE, gone=bare | {(7, 9)}))
    (gap,) = dots.missing
    # Half a segment on from 9 o'clock.
    assert clock(float(bearing(gap.centre_mm - dots.centre_mm))) == "half past 9"
    (note,) = dots.notes
    assert note.code == "dots_unpainted"
    assert note.text.startswith(f"Not painted yet: {len(PIECE)} places, ")
    assert "4" in note.text


def test_glare_over_a_third_of_the_panel_is_said() -> None:
    """Where all is white no dot is seen, none is called missing, and a dot left out beside it still is."""

    def wet(x, y):
        return 1.0, 1.5 * np.clip((x - 0.3) * 8, 0, 1)

    dots = found_in(Painting(PIECE, light=wet, gone={(7, 8)}))
    assert len(dots.missing) == 1
    assert dots.missing[0].centre_mm[0] < 0
    (note,) = [n for n in dots.notes if n.code == "dots_unjudged"]
    count = int(note.text.split()[0])
    # All that lies where the veil is white; half veiled ones may be seen or not.
    x = np.array([Painting(PIECE).centre_mm(kind, k)[0] for kind in range(len(PIECE)) for k in range(12)])
    assert (x > 53).sum() <= count <= (x > 33).sum()
    assert "dots_unpainted" not in codes(dots)
    assert "from" in note.text


def test_a_coarse_photo_says_which_dots_it_cannot_show() -> None:
    photo, marks = Painting(PIECE).draw()
    half = Photo(cv2.resize(photo.rgb, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))
    lens = marks.panel.lens
    smaller = replace(lens, focal_px=lens.focal_px / 2, cx_px=lens.cx_px / 2 - 0.25, cy_px=lens.cy_px / 2 - 0.25)
    panel = Panel.from_corners(240.0, 240.0, smaller, (np.asarray(marks.panel.corners_px) + 0.5) / 2 - 0.5)
    dots = find_dots(half, replace(marks, panel=panel), 12)
    assert dots is not None
    assert codes(dots)[0] == "dots_too_small"
    # Six pixels at 3.5 a millimetre.
    assert "less than 1.7 mm" in dots.notes[0].text
    assert not dots.missing
