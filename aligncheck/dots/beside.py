"""The marks of a painted piece: the chalk that shows beside the dots, and the centre that is known best."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.bare_again import bare_again
from aligncheck.dots.dots import Dots
from aligncheck.errors import MarksError
from aligncheck.marks import Centre, Marks
from aligncheck.marks.centre import AIM_SD_MM
from aligncheck.marks.find import find_marks
from aligncheck.notes import Note
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: 99 % of a plane normal law lie within this squared distance, in standard deviations.
AGREES = 9.21
#: What is said of a centre that is then replaced.
OF_THE_CENTRE = ("centre_hidden", "centre_by_repeat")


def marks_beside(photo: Photo, marks: Marks, dots: Dots, segments: int | None = None) -> Marks:
    """Measure the marks again where dots cover part of them.

    Rows of dots run along spokes and half way between them, and are easily read as chalk. Dots that are known are taken
    away first; what then is no chalk has none. The centre is the painter's mark where it still shows, else the point
    that the dots turn about.

    Parameters
    ----------
    photo : Photo
    marks : Marks
        As read with the dots in sight.
    dots : Dots
    segments : int, optional
        The number of segments, where the painter gave it.
    """
    centre = dots.turning_point
    if centre is None:
        return marks
    chalk = _chalk(photo, marks, dots, segments)
    if _better(chalk.centre, centre):
        return chalk
    notes = tuple(note for note in chalk.notes if note.code not in OF_THE_CENTRE)
    return replace(chalk, centre=centre, notes=(Note("centre_by_dots"), *notes))


def _chalk(photo: Photo, marks: Marks, dots: Dots, segments: int | None) -> Marks:
    """The chalk that shows beside the dots."""
    if not marks.spokes and not marks.rings:
        return marks
    shown = bare_again(photo, marks.panel, dots.dots)
    try:
        found = find_marks(shown, marks.panel, segments)
        if not segments and found.segments % dots.order and dots.order % found.segments:
            # Too little shows to be counted: the dots know how often they repeat.
            found = find_marks(shown, marks.panel, dots.order)
    except MarksError:
        count = segments or dots.order
        return Marks(
            marks.panel, replace(marks.centre, source="repeat"), None, count, (), (), notes=(Note("chalk_hidden"),)
        )
    return replace(found, notes=(*found.notes, Note("chalk_under_paint")))


def _better(mark: Centre, turning: Centre) -> bool:
    """Whether the painter's mark is seen, where the dots say that it is, and known no worse than by them."""
    if mark.source != "mark":
        return False
    # Dots follow spokes, and those may be laid off the mark.
    by_dots = turning.covariance + AIM_SD_MM**2 * np.eye(2)
    off = mark.xy_mm - turning.xy_mm
    agrees = off @ np.linalg.solve(mark.covariance + by_dots, off) < AGREES
    return bool(agrees and np.trace(mark.covariance) < np.trace(by_dots))
