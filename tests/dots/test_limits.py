"""What could not be judged is said, and not held against the painter."""

from dataclasses import replace

import cv2
import numpy as np

from aligncheck.dots import Dots, find_dots
from aligncheck.drift import measure_drift
from aligncheck.geometry.angles import bearing
from aligncheck.later import later_stages
from aligncheck.marks import Marks
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.units import clock
from tests.dots.painted import PIECE, PX_PER_MM, RED, WHITE, Kind, Painting
from tests.rows.petal_panel import SEGMENTS
from tests.rows.petal_panel import draw as draw_petals


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


def coarser(photo: Photo, marks: Marks, share: float) -> tuple[Photo, Marks]:
    """The same from farther off: `share` of the size."""
    small = Photo(cv2.resize(photo.rgb, None, fx=share, fy=share, interpolation=cv2.INTER_AREA))
    old, size = marks.panel, np.array(photo.rgb.shape[1::-1])
    by = np.array(small.rgb.shape[1::-1]) / size
    lens = replace(
        old.lens,
        focal_px=old.lens.focal_px * by[0],
        cx_px=(old.lens.cx_px + 0.5) * by[0] - 0.5,
        cy_px=(old.lens.cy_px + 0.5) * by[1] - 0.5,
    )
    panel = Panel.from_corners(old.width_mm, old.height_mm, lens, (np.asarray(old.corners_px) + 0.5) * by - 0.5)
    return small, replace(marks, panel=panel)


def test_a_coarse_photo_says_which_dots_it_cannot_show() -> None:
    photo, marks = Painting(PIECE).draw()
    dots = find_dots(*coarser(photo, marks, 0.5), 12)
    assert dots is not None
    assert codes(dots)[0] == "dots_too_small"
    # Six pixels at 3.5 a millimetre.
    assert "less than 1.7 mm" in dots.notes[0].text
    assert not dots.missing


def test_of_what_is_too_small_for_the_photo_nothing_is_claimed() -> None:
    """At 1.5 pixels a millimetre dots of 2 mm are three pixels wide; those of 6 mm are dots, and none is missing."""
    small = [Kind(radius, off, 2.0, WHITE) for radius in (30.0, 45.0, 60.0) for off in (7.0, 22.0)]
    photo, marks = Painting([*small, Kind(74.0, 15.0, 6.0, RED)]).draw()
    dots = find_dots(*coarser(photo, marks, 1.5 / PX_PER_MM), 12)
    assert dots is not None
    assert [round(kind.diameter_mm) for kind in dots.kinds] == [6]
    assert not dots.missing
    assert codes(dots)[0] == "dots_too_small"


def test_petals_seen_from_far_off_are_no_dots() -> None:
    """Where strokes are a pixel and a half wide their crossings look like dots: the photo still shows rows."""
    drawn = draw_petals()
    photo, marks = coarser(drawn.photo, drawn.drift.marks, 1.5 / 5)
    later = later_stages(photo, measure_drift(marks))
    assert later.stage == "rows"
    assert later.rows is not None
    assert [len(row.petals) for row in later.rows.rows] == [SEGMENTS, SEGMENTS]
