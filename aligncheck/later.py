"""The later stages of a piece: which one a photo shows, and what is measured there."""

from dataclasses import dataclass

import numpy as np

from aligncheck.dots import Dots, find_dots
from aligncheck.drift import Drift
from aligncheck.errors import MarksError
from aligncheck.marks import Centre, Marks
from aligncheck.marks.find import find_marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.repeat import Repeat, find_repeat, find_unmarked
from aligncheck.rows import Rows, find_petals
from aligncheck.rows.traces import traces
from aligncheck.stage import Stage

#: Paint or things thicker than a stroke cover this share of the drawing on a panel that is worth a closer look; on
#: merely marked panels crossings come to a hundredth.
LEAST_PAINT = 0.02


@dataclass(frozen=True)
class Later:
    """What was traced and painted; None where the photo shows no such thing."""

    stage: Stage | None = None
    rows: Rows | None = None
    repeat: Repeat | None = None
    dots: Dots | None = None
    notes: tuple[Note, ...] = ()


def marks_or_repeat(photo: Photo, panel: Panel, segments: int | None) -> Marks:
    """The marks; on a piece without any, the centre that its pattern turns about.

    Raises
    ------
    MarksError
        Where nothing is drawn and nothing repeats.
    """
    try:
        return find_marks(photo, panel, segments=segments)
    except MarksError as error:
        if error.code != "nothing_drawn":
            raise
        found = find_unmarked(photo, panel)
        if found is None:
            raise
    centre, repeat = found
    middle = Centre(centre.xy_mm, centre.covariance, "repeat")
    return Marks(panel, middle, None, segments or repeat.order or 0, (), (), notes=(Note("centre_by_repeat"),))


def later_stages(photo: Photo, drift: Drift, stage: Stage | None = None) -> Later:
    """Look for rows and paint on a panel whose marks are known.

    Parameters
    ----------
    stage : str, optional
        Look for what belongs to this stage only, and closely; else the photo tells.
    """
    if stage in ("marked", "arranged"):
        return Later()
    dots = _paint(photo, drift, stage)
    rows = find_petals(photo, drift, insist=stage == "rows") if stage != "painted" and dots is None else None
    unmarked = drift.marks.centre.source == "repeat"
    shown: Stage | None = "rows" if rows else "painted" if dots or unmarked or stage == "painted" else None
    repeat = repeat_on(photo, drift) if shown else None
    return Later(shown, rows, repeat, dots)


def _paint(photo: Photo, drift: Drift, stage: Stage | None) -> Dots | None:
    """The painted dots, where a cheap look sees anything thicker than a stroke."""
    marks = drift.marks
    order = drift.layout.segments or marks.segments
    if stage == "rows" or not order:
        return None
    if stage != "painted" and marks.centre.source != "repeat":
        seen = traces(photo, marks)
        if seen.thick_mm2 < LEAST_PAINT * seen.free_mm2:
            return None
    return find_dots(photo, marks, order, drift.centre_mm)


def repeat_on(photo: Photo, drift: Drift) -> Repeat:
    """The repeat test about the layout's centre."""
    marks = drift.marks
    return find_repeat(photo, marks.panel, np.array(drift.centre_mm), drift.layout.segments, marks.diagonals)
