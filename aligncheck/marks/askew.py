"""Is the panel square? What its round rings alone say, for the painter to know.

The map is settled with what is usual for panels in mind, and a panel that was sawn far askew is drawn towards the usual
by that. Whoever is told that a panel is not square wants to know by how much, whatever is usual: here nothing is known
of the two ways of being askew that rings tell, and the rest is as usual for its kind.
"""

import numpy as np

from aligncheck.geometry.uncertainty import u95_number
from aligncheck.marks.given_ovals import given_ovals, mixed, shares_of
from aligncheck.marks.ovals import Ovals
from aligncheck.panel import Panel
from aligncheck.panel.square import out_of_square
from aligncheck.panel.squareness import Squareness, shape_slopes

#: Standard deviation, mm, of what is not known at all: more than any panel is out whose sides still pass for one.
UNKNOWN_MM = 5.0


def squareness(panel: Panel, ovals: Ovals) -> Squareness | None:
    """How far `panel`, its map still as its sides gave it, is out of square; None where no ring was read."""
    if not len(ovals.read_mm):
        return None
    size = panel.width_mm, panel.height_mm
    tells = np.pad(shape_slopes(*size), ((0, 0), (0, 2)))
    ways = UNKNOWN_MM * np.linalg.pinv(tells)
    given = []
    for kind in panel.possible_kinds:
        cut = ways @ ways.T
        cut[:8, :8] += out_of_square(*size, kind.out_of_square_mm)
        given.append(given_ovals(kind, cut, ovals))
    shares = shares_of(given)
    mean, covariances = mixed(shares, [(tells @ g.cut[0], tells @ g.cut[1] @ tells.T) for g in given])
    variances = np.diag(np.tensordot(shares, covariances, axes=1))
    (diagonals, too_wide), (diagonals_u95, wide_u95) = mean.tolist(), [u95_number(float(v)) for v in variances]
    return Squareness(diagonals, diagonals_u95, too_wide, wide_u95)
