"""The later stages of a piece: which one a photo shows, and what is measured there."""

from dataclasses import dataclass

import numpy as np

from aligncheck.dots import Dots
from aligncheck.drift import Drift
from aligncheck.errors import MarksError
from aligncheck.marks import Centre, Marks
from aligncheck.marks.find import find_marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.repeat import Repeat
from aligncheck.rows import Rows
from aligncheck.rows.traces import Traces, traces
from aligncheck.stage import Stage


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
        from aligncheck.repeat import find_unmarked

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
    # One cheap look tells whether either search is worth its time; what is asked for needs none.
    seen = traces(photo, drift.marks) if stage is None else None
    dots = _paint(photo, drift, stage, seen)
    rows = _rows(photo, drift, stage, seen) if dots is None else None
    unmarked = drift.marks.centre.source == "repeat"
    shown: Stage | None = "rows" if rows else "painted" if dots or unmarked or stage == "painted" else None
    repeat = repeat_on(photo, drift) if shown else None
    return Later(shown, rows, repeat, dots)


def _paint(photo: Photo, drift: Drift, stage: Stage | None, seen: Traces | None) -> Dots | None:
    """The painted dots, where a cheap look sees as many round things as one a segment."""
    marks = drift.marks
    order = drift.layout.segments or marks.segments
    if stage == "rows" or not order:
        return None
    if seen and marks.centre.source != "repeat" and not seen.dots_likely(order):
        return None
    # Most photos show marks alone and never load the rest.
    from aligncheck.dots import find_dots
    from aligncheck.dots.unexplained import is_paint

    dots = find_dots(photo, marks, order, drift.centre_mm)
    return dots if dots and (stage or is_paint(dots, marks)) else None


def _rows(photo: Photo, drift: Drift, stage: Stage | None, seen: Traces | None) -> Rows | None:
    """The rows of petals, where a cheap look sees strokes beside the marks."""
    if stage == "painted" or (seen and not seen.rows_likely):
        return None
    from aligncheck.rows import find_petals

    return find_petals(photo, drift, insist=True)


def repeat_on(photo: Photo, drift: Drift) -> Repeat:
    """The repeat test about the layout's centre."""
    from aligncheck.repeat import find_repeat

    marks = drift.marks
    return find_repeat(photo, marks.panel, np.array(drift.centre_mm), drift.layout.segments, marks.diagonals)
