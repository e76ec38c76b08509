"""What a panel may be made of: cut from a board, or put together of bars that cloth may pull in."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.side_bow import PULLED, STRAIGHT, Bow

Floats = NDArray[np.float64]

#: From this thickness on a panel is taken for a stretched canvas or a cradled board, mm.
DEEP_MM = 10.0
#: Where the thickness was not given, about one panel in five is deep; cloth pulls the sides of about half of these, for
#: cradled boards and small canvases keep straight.
DEEP_SHARE, PULLED_SHARE = 0.2, 0.5
#: Spread, mm a corner coordinate, of panels out of square and size. Boards are cut by machine, true to some hundredths,
#: and primed and painted round their edges as much; one in twenty was sawn by hand or has swollen. The bars of a
#: stretched canvas are pushed together by hand and pulled by the cloth: all are off by tenths.
CUT_MM, OFF_MM, BADLY_CUT = 0.04, 0.2, 0.05


class Make(NamedTuple):
    """One way that a panel may be made, and how common it is: `share` adds up to 1 over all ways that are open.

    `out_of_square_mm` is the spread of its corners' coordinates, `bow` how far its sides bow.
    """

    share: float
    deep: bool
    out_of_square_mm: float
    bow: Bow


class Kind(NamedTuple):
    """A make of panel as one photo leaves it.

    Attributes
    ----------
    share : float
        How likely it is, after the sides were seen.
    out_of_square_mm : float
        Spread of the corners' coordinates that such panels have, mm.
    mean : ndarray (10,)
        What to add to the map's parameters p if the panel is of this make.
    covariance : ndarray (10, 10)
        Of p then.
    """

    share: float
    out_of_square_mm: float
    mean: Floats
    covariance: Floats


def makes_of(depth_mm: float | None) -> tuple[Make, ...]:
    """The ways that a panel this thick may be made; None where nobody told the thickness."""
    boards = (Make(1 - BADLY_CUT, False, CUT_MM, STRAIGHT), Make(BADLY_CUT, False, OFF_MM, STRAIGHT))
    deep = (Make(1 - PULLED_SHARE, True, OFF_MM, STRAIGHT), Make(PULLED_SHARE, True, OFF_MM, PULLED))
    if depth_mm is not None:
        return deep if depth_mm >= DEEP_MM else boards
    open_ = [m._replace(share=m.share * (DEEP_SHARE if m.deep else 1 - DEEP_SHARE)) for m in (*boards, *deep)]
    return tuple(open_)


def usual_kinds(depth_mm: float | None, covariance: Floats) -> tuple[Kind, ...]:
    """The kinds of a panel whose map was not fitted to its sides: only how square it was made differs."""
    shares: dict[float, float] = {}
    for make in makes_of(depth_mm):
        shares[make.out_of_square_mm] = shares.get(make.out_of_square_mm, 0.0) + make.share
    return tuple(Kind(share, spread, np.zeros(len(covariance)), covariance) for spread, share in shares.items())
