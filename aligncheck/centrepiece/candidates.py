"""What may lie on the panel: first what no shadow explains, then, where lines have gone unexplained, fainter things.

A piece in the colour of the panel, or as dark as a shadow on it, is found only by calling shadows unlike the panel
too; then the lines, which a shadow does not hide, must say that something lies there.
"""

from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.centrepiece.core import STROKE_MM, opened
from aligncheck.centrepiece.over_sides import sides_covered
from aligncheck.centrepiece.overview import Overview, distance_mm
from aligncheck.centrepiece.window import Mask, shaded_distance
from aligncheck.geometry.small import median

#: Something solid holds a disc of this size, mm: no stroke drawn twice does.
SOLID_MM = 4.0


class Look(NamedTuple):
    """The darkest shade that counts as shadow; the least distance that is unlike the panel, also as noise times."""

    darkest: float
    unlike: float
    noise_times: float


#: A centrepiece is at least so large, mm^2 (16 mm across: painted dots are smaller), this share of it beside the lines.
LEAST_AREA_MM2, LEAST_SHARE = 200.0, 0.75
#: Natural log odds, by the lines that it hides, that something lies there.
LEAST_ODDS = 15.0
#: It lies about the centre: no farther from it than this, mm.
FARTHEST_MM = 20.0
#: From the surest to the faintest: colours, darkness too, and whatever stands out of the panel's own noise.
LOOKS = (Look(0.4, 0.05, 5.0), Look(0.92, 0.05, 5.0), Look(0.97, 0.025, 3.0))

#: A line is covered where most of what lies beside it is.
MOSTLY = 0.6
#: The usual difference is a median; every fourth row and column tells it as well.
SPARSE = 4
#: Lines unseen round a candidate for this far, mm, beyond the usual share by this: part of the piece was missed.
AROUND_MM, UNSEEN_MORE = (1.5, 10.0), 0.125
#: A fainter candidate must explain this much more than a surer one: natural log odds, and share.
MORE_ODDS, MORE_SHARE = 10.0, 1.15
#: Pieces of a faint candidate that hide lines of their own (log odds) belong to it.
OWN_ODDS, OWN_AREA_MM2 = 3.0, 15.0


class Candidate(NamedTuple):
    """Pixels of the overview that may be a piece, its solid part, the log odds by the lines, how it was looked at."""

    core: Mask
    body: Mask
    odds: float
    unlike: float
    look: Look


def best_candidate(seen: Overview) -> Candidate | None:
    """The candidate that explains most hidden lines; fainter looks are taken only where the first leaves some over."""
    first = _candidate(seen, LOOKS[0])
    if first is not None and not _plausible(seen, first):
        first = None
    if seen.cells is None or (first is not None and not _lines_gone_around(seen, first)):
        return first
    best = first
    for look in LOOKS[1:]:
        other = _candidate(seen, look)
        before = best.odds if best is not None else 0.0
        if other is not None and other.odds > MORE_SHARE * before + MORE_ODDS and _plausible(seen, other):
            best = other
    return best


def solid_candidates(seen: Overview) -> list[Candidate]:
    """What each look takes for a piece, whether or not it hides lines."""
    found = [_candidate(seen, look) for look in LOOKS]
    return [c for c in found if c is not None and c.body.any() and not sides_covered(c.body, seen.window.px_per_mm)]


def _plausible(seen: Overview, found: Candidate) -> bool:
    """Whether it is large enough, near the centre, within the panel, and hides lines."""
    window = seen.window
    if sides_covered(found.body, window.px_per_mm):
        return False
    if (found.body & ~seen.lines).sum() / window.px_per_mm**2 < LEAST_SHARE * LEAST_AREA_MM2:
        return False
    if window.radius_mm(seen.centre_mm)[found.body].min() > FARTHEST_MM:
        return False
    return seen.cells is None or found.odds >= LEAST_ODDS


def _candidate(seen: Overview, look: Look) -> Candidate | None:
    """The largest solid thing near the centre at this look, with what else hides lines if the look is a faint one."""
    window = seen.window
    distance, _ = shaded_distance(window, look.darkest)
    noise = median(distance[::SPARSE, ::SPARSE])
    unlike = max(look.unlike, min(look.noise_times * noise, 2 * look.unlike))
    parts = opened(distance > unlike, window.px_per_mm, STROKE_MM)
    least_px = LEAST_SHARE * LEAST_AREA_MM2 * window.px_per_mm**2
    if np.count_nonzero(parts) < least_px:
        return None
    number, labels = cv2.connectedComponents(parts.astype(np.uint8), connectivity=4)
    rows, columns = np.nonzero(parts)
    there = labels[rows, columns]
    weight = np.bincount(there, seen.nearness(rows, columns), number)
    area = np.bincount(there, minlength=number)
    if weight.max() <= 0:
        return None
    chosen = [int(weight.argmax())]
    if look is not LOOKS[0]:
        chosen += _hiding(seen, labels, area)
    if area[chosen].sum() < least_px:
        return None
    part_of = np.zeros(number, bool)
    part_of[chosen] = True
    core = part_of[labels]
    body = opened(core, window.px_per_mm, SOLID_MM)
    odds = seen.cells.log_odds(seen.cells_in(covered(seen, body))) if seen.cells is not None else 0.0
    return Candidate(core, body, odds, unlike, look)


def covered(seen: Overview, body: Mask) -> Mask:
    """Where what lies beside the lines is body: a thick line itself is like no panel and covers nothing."""
    found = np.zeros(body.shape, bool)
    rows, columns = np.flatnonzero(body.any(1)), np.flatnonzero(body.any(0))
    if not len(rows):
        return found
    # Nothing is covered beyond the blur.
    room = int(np.ceil(4 * seen.beside_px))
    part = tuple(slice(max(0, int(k[0]) - room), int(k[-1]) + room + 1) for k in (rows, columns))
    off = ~seen.lines[part]
    near_body, near = (
        cv2.GaussianBlur(mask.astype(np.float32), (0, 0), seen.beside_px) for mask in (body[part] & off, off)
    )
    found[part] = near_body + 0.01 > MOSTLY * (near + 0.02)
    return found


def _hiding(seen: Overview, labels: "np.ndarray", area_px: "np.ndarray") -> list[int]:
    """Numbers of the parts that hide lines of their own."""
    cells = seen.cells
    if cells is None:
        return []
    place = np.rint(seen.window.to_view(cells.at_mm)).astype(int)
    height, width = labels.shape
    inside = (place >= 0).all(1) & (place[:, 0] < width) & (place[:, 1] < height)
    part = np.zeros(len(place), int)
    part[inside] = labels[place[inside, 1], place[inside, 0]]
    odds = np.bincount(part, cells.odds_each, len(area_px))
    own = (odds > OWN_ODDS) & (area_px > OWN_AREA_MM2 * seen.window.px_per_mm**2)
    return [int(k) for k in np.flatnonzero(own) if k > 0]


def _lines_gone_around(seen: Overview, candidate: Candidate) -> bool:
    """Whether lines cannot be seen outside a candidate either."""
    if seen.cells is None:
        return False
    away = distance_mm(candidate.core, seen.window.px_per_mm)
    around = seen.cells_in((away > AROUND_MM[0]) & (away < AROUND_MM[1]))
    return seen.cells.unseen_share(around) > seen.cells.gaps + UNSEEN_MORE
