"""What round rings tell of the map: a stencil's rings are round, so an oval that all of them share is the map's.

A panel that is out of square looks, in one photo, like a square one seen at another slant: no side tells. Rings do, for
under the wrong slant all of them are drawn out the same way, the more the larger they are. Every kind of panel that the
sides leave open is conditioned on that (normal laws, so that Bayes' rule is linear algebra): how likely it is, and
where its map lies. As far as a hand may have drawn ovals, nothing moves.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.askew import squareness
from aligncheck.marks.given_ovals import given_ovals, mixed, shares_of
from aligncheck.marks.marks import Ring
from aligncheck.marks.ovals import ovals_of
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind
from aligncheck.panel.square import out_of_square

Floats = NDArray[np.float64]


def settled_panel(panel: Panel, rings: tuple[Ring, ...]) -> Panel:
    """The panel with the map that its sides and its round rings together make the likeliest."""
    ovals = ovals_of(panel, rings)
    given = [given_ovals(kind, _cut(panel, kind), ovals) for kind in panel.possible_kinds]
    shares = shares_of(given)
    whole, whole_covariances = mixed(shares, [g.whole for g in given])
    sides, sides_covariances = mixed(shares, [g.sides for g in given])
    kinds = tuple(
        Kind(float(share), 0.0, np.zeros_like(whole), covariance)
        for share, covariance in zip(shares, whole_covariances, strict=True)
    )
    moved = panel.moved(whole)
    # Of that, what the sides were read wrong by moves the corners in the photo; the rest is how the panel was cut.
    corners_px = moved.to_photo(moved.corners_mm - sides[:8].reshape(4, 2))
    covariance = np.tensordot(shares, sides_covariances, axes=1)
    shape = squareness(panel, ovals)
    settled = replace(moved, corners_px=corners_px, covariance=covariance, kinds=kinds, settled=True)
    return replace(settled, squareness=shape, unsettled=panel)


def _cut(panel: Panel, kind: Kind) -> Floats:
    """Covariance (10, 10) of how panels of this kind are cut."""
    cut = np.zeros_like(kind.covariance)
    cut[:8, :8] = out_of_square(panel.width_mm, panel.height_mm, kind.out_of_square_mm)
    return cut
