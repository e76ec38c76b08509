"""The front of this package: every painted dot on the panel."""

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.dots.candidates import find_candidates
from aligncheck.dots.dots import Dots
from aligncheck.dots.kinds import dots_among
from aligncheck.dots.view import dot_view
from aligncheck.geometry.near import make_ready
from aligncheck.marks import Marks
from aligncheck.photo import Photo
from aligncheck.side_by_side import beside

#: A dot is too big from this many times its like (fixed by design).
OVERSIZE = 1.18


def find_dots(
    photo: Photo, marks: Marks, order: int, centre_mm: ArrayLike | None = None, oversize: float = OVERSIZE
) -> Dots | None:
    """Find and measure the dots on the panel of `marks`; None where none are painted.

    What is round but repeats nowhere is no dot of a design: none of it is told unless some dots do.

    Parameters
    ----------
    photo : Photo
    marks : Marks
        What is drawn: its lines are no dots.
    order : int
        How often the design repeats in a turn.
    centre_mm : (x, y), optional
        What it turns about, where that is not the marks' own centre.
    oversize : float
        A dot is too big if its diameter is more than this many times the median of its like.
    """
    centre = np.asarray(marks.centre.xy_mm if centre_mm is None else centre_mm, float)
    ready = beside(make_ready)
    view = dot_view(photo, marks.panel)
    ready()
    return dots_among(find_candidates(view), view, photo, marks, order, centre, oversize)
