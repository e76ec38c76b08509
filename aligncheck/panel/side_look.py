"""A fine look at a side: its profiles at full resolution, and where in them the side lies."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.lens import Lens
from aligncheck.panel.colour_edge import WIDE, faint_colour, is_doubtful, with_colour
from aligncheck.panel.edges import BLUR_PX, LINES, Edges, edge_blur, locate_edges, read_edge_strip
from aligncheck.panel.step_fit import SURE
from aligncheck.panel.strips import Side, Singles
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A side is a step where its pieces see one this sure in the median, or where this share of them is sure of it: what
#: lies over a side, or is of its colour, may hide the rest.
STEP_SURENESS, SEEN_SHARE = 3.0, 0.35


class Look(NamedTuple):
    """One fine look at a side: its profiles about the track between two corners, and how far to search from it."""

    ends: tuple[Floats, Floats]
    lens: Lens
    unit: float
    search_px: float
    lines: int
    next_px: Floats | None
    side: Side
    light: Singles
    blur_px: float = BLUR_PX

    def edges(self, photo: Photo) -> Edges:
        """Where the side lies piece by piece, by colour, too, where luminance does not place it surely."""
        given = (self.search_px, self.unit, self.next_px, self.blur_px)
        edges = locate_edges(self.side, self.light, *given)
        if not is_doubtful(edges, self.unit):
            return edges
        _, wide = read_edge_strip(photo.rgb, *self.ends, self.lens, WIDE * self.unit, self.lines)
        coloured = with_colour(edges, wide, self.search_px, self.unit, self.blur_px)
        return coloured or locate_edges(self.side, self.light, *given, (faint_colour(self.light),))


def looks_at_sides(
    photo: Photo,
    corners: Floats,
    lens: Lens,
    follows: list[Floats | None],
    unit: float,
    search_px: float,
    lines: int,
) -> list[Look]:
    """Looks at the four sides between `corners`; the last ones' with the blur that the photo's edges have."""
    looks = []
    for i in range(4):
        ends = corners[i], corners[(i + 1) % 4]
        side, light = read_edge_strip(photo.rgb, *ends, lens, unit, lines)
        looks.append(Look(ends, lens, unit, search_px, lines, follows[i], side, light))
    if lines != LINES:
        return looks
    blurs = lens_blurs([look.light for look in looks], search_px, unit, follows)
    return [look._replace(blur_px=blur) for look, blur in zip(looks, blurs, strict=True)]


def shows(edges: Edges) -> bool:
    """Whether a side shows as a sharp step, on most of its length or surely on a part of it."""
    return bool(median(edges.sureness) > STEP_SURENESS or (edges.sureness > SURE).mean() > SEEN_SHARE)


def lens_blurs(lights: list[Singles], search_px: float, unit: float, next_edges: list[Floats | None]) -> list[float]:
    """Blur of each side, as the lens makes it.

    Defocus blurs all sides about alike, a moving hand those that face each other. What broadens a single one is its
    own: a shadow's soft edge or a side face beside it, all on one side of the edge that is looked for.
    """
    found = [edge_blur(light, search_px, unit, follows) for light, follows in zip(lights, next_edges, strict=True)]
    told = sorted(blur for blur in found if blur is not None)
    usual = told[(len(told) - 1) // 2] if told else BLUR_PX
    opposite = [found[(i + 2) % 4] for i in range(4)]
    return [min(own or usual, facing or usual) for own, facing in zip(found, opposite, strict=True)]
