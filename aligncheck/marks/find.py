"""The front of this package: everything drawn on the panel."""

from aligncheck.errors import MarksError
from aligncheck.marks.centre import measure_centre
from aligncheck.marks.detect import detect
from aligncheck.marks.detection import Detection
from aligncheck.marks.marks import Centre, Marks
from aligncheck.marks.rings import measure_rings
from aligncheck.marks.settle import settle
from aligncheck.marks.spokes import measure_spokes
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo

#: Without spokes and a mark, a single circle may be anything round.
LEAST_RINGS = 2


def find_marks(photo: Photo, panel: Panel, segments: int | None = None) -> Marks:
    """Find and measure the marks on `panel`; they come with the panel's map as they settle it.

    Parameters
    ----------
    photo : Photo
    panel : Panel
    segments : int or None
        The number of segments, where the painter gave it.

    Raises
    ------
    MarksError
        ``nothing_drawn`` where no layout is seen, ``count_contradicts`` where it has another number of spokes.
    """
    detection = detect(photo, panel, segments)
    spokes = measure_spokes(photo, panel, detection)
    rings = measure_rings(photo, panel, detection, spokes)
    centre, meeting = measure_centre(photo, panel, detection, spokes, rings)
    if not spokes.spokes and len(rings) < LEAST_RINGS and centre.source != "mark":
        raise MarksError("nothing_drawn")
    found = Marks(
        panel=panel,
        centre=centre,
        spokes_meet=meeting,
        segments=detection.segments,
        spokes=spokes.spokes,
        rings=rings,
        diagonals=detection.diagonals,
        light=detection.light,
        notes=_notes(detection, centre),
    )
    return settle(found)


def _notes(detection: Detection, centre: Centre) -> tuple[Note, ...]:
    hidden = () if centre.source == "mark" else (Note("centre_hidden"),)
    if detection.rival is None:
        return hidden
    values = {"segments": detection.segments, "other": detection.rival}
    return (*hidden, Note("count_open", values))
