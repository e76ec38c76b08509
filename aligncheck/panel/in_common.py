"""What the maps of several photos of one panel have in common: the panel itself.

How it was cut, with paint and wear, how its sides bow, how round its edges are is the same in every photo and does not
average away; each photo sees it from a place of its own. What the fit of the sides does not know is parted into
that and what is this photo's alone.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.covariance import LEAST_TURN_MM, corner_directions
from aligncheck.panel.kind import Make, makes_of
from aligncheck.panel.panel import Panel
from aligncheck.panel.rounded import Rounding
from aligncheck.panel.side_bow import Bow, bow_precision, usual_bows
from aligncheck.panel.square import out_of_square
from aligncheck.panel.told_apart import MapGivenBows, Seen, bows_of_sides, maps_given_bows

Floats = NDArray[np.float64]

#: The panel's own numbers: corners off a true rectangle's (mm, x and y of each), the bows of its sides (mm, inward);
#: then in standard deviations how round its edges are, where the lamp's light ends on the arris of each side, and how
#: dents turn each.
CUT, BOWS, ROUND, PLACE, TURN = slice(0, 8), slice(8, 12), 12, slice(13, 17), slice(17, 21)
OWN = 21
#: A bow of one millimetre on every side.
ONE_MM = Bow(0.0, 0.0, 1.0)


class Sides(NamedTuple):
    """The sides as one photo shows them, and the makes of panel that are open, each with how its edges are rounded."""

    seen: Seen
    makes: list[tuple[Make, Rounding]]


class MapOfMake(NamedTuple):
    """The map's parameters p (10,) of one photo if the panel is of one make.

    `mean` (10,) where the panel's own numbers are nought, `by_panel` (10, OWN) how they change it, `covariance`
    (10, 10) what is this photo's alone.
    """

    mean: Floats
    by_panel: Floats
    covariance: Floats


class Shown(NamedTuple):
    """One photo's map for each of `makes`, and what its sides say of their bows (mm): precision, and it times them."""

    makes: tuple[Make, ...]
    maps: tuple[MapOfMake, ...]
    bow_precision: Floats
    bow_pull: Floats

    def turned(self, quarters: int) -> "Shown":
        """With the panel's own numbers as they are called once it is turned clockwise by quarter turns."""
        back = _turned_back(quarters)
        bows = back[BOWS, BOWS]
        maps = tuple(one._replace(by_panel=one.by_panel @ back) for one in self.maps)
        return Shown(self.makes, maps, bows.T @ self.bow_precision @ bows, bows.T @ self.bow_pull)


def _turned_back(quarters: int) -> Floats:
    """The panel's own numbers as a photo names them, from those in a frame turned clockwise: (OWN, OWN)."""
    matrix = np.eye(OWN)
    # The first corner and side of the photo are then the second ones.
    step = np.roll(np.eye(4), quarters, axis=1)
    turn = np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), quarters % 4)
    matrix[CUT, CUT] = np.kron(step, turn.T)
    for part in (BOWS, PLACE, TURN):
        matrix[part, part] = step
    return matrix


def shown_by(panel: Panel) -> Shown:
    """Part what is the panel's from what is the photo's; where no sides were fitted, only how it was cut is shared."""
    panel = panel.unsettled or panel
    if panel.sides is None:
        by_panel = np.eye(10, OWN)
        by_panel[8:] = 0.0
        usual = makes_of(panel.depth_mm)
        one = MapOfMake(np.zeros(10), by_panel, panel.covariance)
        return Shown(usual, tuple(one for _ in usual), np.zeros((4, 4)), np.zeros(4))
    seen, makes = panel.sides
    edges = [edge for _, edge in makes]
    bows = bows_of_sides(seen)
    px = usual_bows(*bows.sides, ONE_MM)
    return Shown(
        tuple(make for make, _ in makes),
        tuple(_map_of(one, edge, px) for one, edge in zip(maps_given_bows(seen, edges), edges, strict=True)),
        bows.information * np.outer(px, px),
        bows.pull * px,
    )


def own_precision(panel: Panel, make: Make) -> tuple[Floats, Floats]:
    """Of the panel's own numbers before it was seen: precision (OWN, OWN), and the usual ones (OWN,)."""
    precision, usual = np.eye(OWN), np.zeros(OWN)
    precision[CUT, CUT] = np.linalg.inv(out_of_square(panel.width_mm, panel.height_mm, make.out_of_square_mm))
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    # On a panel of one millimetre that is shown at one pixel a millimetre, terms and bows differ by their definition.
    scale = usual_bows(square, 1.0, 1.0, ONE_MM)
    precision[BOWS, BOWS] = bow_precision(square, 1.0, 1.0, make.bow) * np.outer(scale, scale)
    usual[BOWS] = make.bow.inward_mm
    return precision, usual


def _map_of(one: MapGivenBows, edge: Rounding, px: Floats) -> MapOfMake:
    """`px` (4,): how many pixels a bow of one millimetre is, as the fit has its terms."""
    place, turn = corner_directions()
    by_panel = np.zeros((10, OWN))
    by_panel[:8, CUT] = np.eye(8)
    by_panel[:, BOWS] = one.by_bows * px
    by_panel[:8, ROUND] = -edge.radius_sd_mm * edge.per_radius @ place
    by_panel[:8, PLACE] = (place * edge.shade_sd_mm[:, None]).T
    by_panel[:8, TURN] = LEAST_TURN_MM * turn.T
    shared = by_panel[:, ROUND:]
    return MapOfMake(one.mean, by_panel, _without(one.covariance, shared @ shared.T))


def _without(covariance: Floats, part: Floats) -> Floats:
    """What is left of a covariance; no number's variance falls below nothing."""
    # In units of the whole: millimetres and the lens's terms are of different sizes.
    lower = np.linalg.cholesky(covariance)
    unit = np.linalg.inv(lower)
    values, vectors = np.linalg.eigh(np.eye(len(covariance)) - unit @ part @ unit.T)
    back = lower @ vectors
    return np.asarray((back * np.maximum(values, 0.0)) @ back.T, float)
