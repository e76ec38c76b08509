"""Other pieces beside the one at the centre: an arrangement may be laid from several."""

import cv2
import numpy as np

from aligncheck.centrepiece.candidates import LOOKS, Candidate, Look, covered
from aligncheck.centrepiece.core import grown, opened
from aligncheck.centrepiece.overview import Overview, distance_mm
from aligncheck.centrepiece.window import Floats, Mask, shaded_distance

#: A piece of an arrangement is so large at least, mm^2, holds a disc so wide, mm, and lies this near the others, mm.
LEAST_MM2, SOLID_MM, NEAR_MM = 60.0, 5.0, 30.0
#: It hides lines of its own: natural log odds.
OWN_ODDS = 6.0
#: Round things (share of the circle about them) are dots; where there are so many, the panel is painted.
ROUND, PAINTED = 0.85, 6


def other_parts(seen: Overview, found: Candidate, main_mm: Floats) -> list[Mask]:
    """Masks of the other pieces, none on a painted panel.

    Parameters
    ----------
    seen : Overview
    found : Candidate
        The piece at the centre.
    main_mm : ndarray (n, 2)
        Its outline.
    """
    window = seen.window
    main = np.zeros(window.shape, np.uint8)
    cv2.fillPoly(main, [np.rint(window.to_view(main_mm)).astype(np.int32)], 1)
    beside = ~grown(main > 0, window.px_per_mm, 1.5)
    # A faint look takes dots together with their shadows: whether they are round, the surest look tells.
    if sum(map(_is_round, _solids(seen, LOOKS[0], LOOKS[0].unlike, beside))) >= PAINTED:
        return []
    solids = _solids(seen, found.look, found.unlike, beside)
    rounds = [_is_round(part) for part in solids]
    if sum(rounds) >= PAINTED:
        return []
    away = distance_mm(main > 0, window.px_per_mm)
    least = LEAST_MM2 * window.px_per_mm**2
    return [
        part
        for part, is_round in zip(solids, rounds, strict=True)
        if not is_round
        and part.sum() >= least
        and away[part].min() < NEAR_MM
        and _hides_lines(seen, part)
        and not _at_rim(part)
    ]


def _solids(seen: Overview, look: Look, unlike: float, beside: Mask) -> list[Mask]:
    """Solid parts of what is unlike the panel at a look, within `beside`."""
    window = seen.window
    found = (shaded_distance(window, look.darkest)[0] > unlike) & beside
    solid = opened(found, window.px_per_mm, SOLID_MM).astype(np.uint8)
    number, labels = cv2.connectedComponents(solid, connectivity=4)
    return [labels == k for k in range(1, number)]


def _is_round(part: Mask) -> bool:
    """Whether a part nearly fills the circle about it."""
    contours, _ = cv2.findContours(part.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea)
    _, radius = cv2.minEnclosingCircle(contour)
    return cv2.contourArea(contour) > ROUND * np.pi * max(radius, 1.0) ** 2


def _hides_lines(seen: Overview, part: Mask) -> bool:
    """Whether lines that should run there cannot be seen."""
    return seen.cells is not None and seen.cells.log_odds(seen.cells_in(covered(seen, part))) > OWN_ODDS


def _at_rim(part: Mask) -> bool:
    """Whether a part touches the panel's side: a tool or a hand."""
    return bool(part[:2].any() or part[-2:].any() or part[:, :2].any() or part[:, -2:].any())
