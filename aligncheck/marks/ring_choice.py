"""Which candidates are rings? Those drawn as strongly as the others, and fainter ones where the spacing asks for one.

A wiped layout leaves faint circles of its own; a ring mostly rubbed away is faint too. What tells them apart is that
painters space rings evenly, and that the chalk left of a rubbed ring still lies in line.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.marks.ring_fit import RingPath

Floats = NDArray[np.float64]

#: Rows with this part of a full stroke carry chalk.
CHALK = 0.3
#: Chalk scatters by less than this about its ring (0.05 mm; 0.18 at most without paint on it); other things in the
#: window do so evenly over half a millimetre.
IN_LINE_MM = 0.28
#: From this strength on a candidate is surely a ring: half of its circle is full of chalk.
SURE = 0.5
#: Least strength of a ring that stands where the spacing asks for one, and of one that does not, as a part of the
#: strength of the sure rings: a wiped ring keeps up to half of its chalk.
FAINT, OFF_SPACING = 0.2, 0.62
HALF = 0.5
#: Less chalk than this is no ring, whatever the others are like.
LEAST_STRENGTH = 0.15
#: A hand sets a ring within this distance of its place, and never nearer to the next place.
OFF_PLACE_MM, OFF_PLACE_SHARE = 1.6, 0.16
CLOSEST_MM, WIDEST_MM = 4.0, 60.0
#: Charge for each empty place between rings, and for one inside the innermost.
EMPTY, EMPTY_INSIDE = 0.6, 0.1


class Quality(NamedTuple):
    """How a candidate was drawn.

    Attributes
    ----------
    strength : float
        Mean chalk over its free rows, each cut at a full row: 1 for an unbroken ring of the usual stroke.
    coverage : float
        Share of its free rows that carry chalk in line with the path.
    seen : float
        Share of the whole circle that is free of crossings and inside the panel.
    spread_mm : float
        Robust scatter of the rows that carry chalk.
    """

    strength: float
    coverage: float
    seen: float
    spread_mm: float


NOTHING = Quality(0.0, 0.0, 0.0, 9.0)


def quality(path: RingPath) -> Quality:
    """Judge a fitted candidate."""
    rows, free = path.rows, path.free
    if rows is None or free is None or free.sum() < 10:
        return NOTHING
    in_line = np.abs(rows.offset_mm) < 0.6
    chalk = np.clip(rows.amplitude, -0.2, 1.0) * np.where(in_line, 1.0, CHALK)
    chalked = free & (rows.amplitude > CHALK)
    spread = 1.4826 * median(np.abs(rows.offset_mm[chalked])) if chalked.any() else 9.0
    return Quality(float(chalk[free].mean()), float((in_line & chalked)[free].mean()), float(free.mean()), spread)


def choose_rings(paths: list[RingPath], own: list[float] | None = None) -> list[RingPath]:
    """The rings among the candidates, from the inside out; `own` are their strengths in a chalk of their own."""
    own = own or [0.0] * len(paths)
    judged = [(path, quality(path), more) for path, more in zip(paths, own, strict=True)]
    judged = [(path, q, more) for path, q, more in judged if q.spread_mm < IN_LINE_MM and path.radius_mm > 0]
    if not judged:
        return []
    radii = np.array([path.radius_mm for path, _, _ in judged])
    grey = np.array([q.strength for _, q, _ in judged])
    strength = np.array([max(q.strength, more) for _, q, more in judged])
    usual = median(strength[strength >= min(SURE, 0.7 * strength.max())])
    # Where one ring is far stronger than the others, weaker ones must tell the spacing.
    spacing = find_spacing(radii[strength > OFF_SPACING * usual]) or find_spacing(radii[strength > HALF * usual])
    least = np.full(len(radii), OFF_SPACING)
    if spacing is not None:
        placed = _on_spacing(radii, spacing)
        least[placed] = FAINT
        # Colour alone makes no ring where none belongs: the middle of a flower is round and coloured, too.
        strength = np.where(placed, strength, grey)
    keep = strength > np.maximum(least * usual, LEAST_STRENGTH)
    if spacing is not None:
        keep &= _strongest_of_place(radii, strength, spacing) | (strength > OFF_SPACING * usual)
    return sorted((judged[i][0] for i in np.nonzero(keep)[0]), key=lambda path: path.radius_mm)


def find_spacing(radii_mm: Floats) -> float | None:
    """The even spacing that most of these radii are multiples of, None where they are not.

    Empty places below the largest radius count against a spacing: half the true spacing fits all rings too.
    """
    if len(radii_mm) < 2:
        return None
    trial = np.arange(CLOSEST_MM, min(WIDEST_MM, float(radii_mm.max()) * 1.05), 0.05)
    place = np.maximum(np.round(radii_mm[:, None] / trial), 1)
    off = np.abs(radii_mm[:, None] - place * trial)
    gate = np.minimum(OFF_PLACE_MM, OFF_PLACE_SHARE * trial)
    on = off < gate
    # Different places, of the radii in rising order so that equal ones are neighbours.
    seen = np.sort(np.where(on, place, 0.0), axis=0)
    filled = (np.diff(seen, axis=0, prepend=0.0) > 0).sum(0)
    first, last = np.where(on, place, place.max()).min(0), np.where(on, place, 0).max(0)
    between = last - first + 1 - filled
    # Inner rings may lie under a centrepiece: they are hardly missed.
    below = first - 1
    score = filled - (~on).sum(0) - EMPTY * between - EMPTY_INSIDE * below - 0.05 * (off / gate * on).sum(0)
    score = np.where(on.any(0), score, -np.inf)
    best = int(score.argmax())
    if on[:, best].sum() < max(2, 0.7 * len(radii_mm)):
        return None
    k, r = place[on[:, best], best], radii_mm[on[:, best]]
    return float((k * r).sum() / (k * k).sum())


def _on_spacing(radii: Floats, spacing: float) -> NDArray[np.bool_]:
    place = np.maximum(np.round(radii / spacing), 1)
    return np.asarray(np.abs(radii - place * spacing) < min(OFF_PLACE_MM, OFF_PLACE_SHARE * spacing))


def _strongest_of_place(radii: Floats, strength: Floats, spacing: float) -> NDArray[np.bool_]:
    place = np.round(radii / spacing)
    return np.array([strength[i] >= strength[place == place[i]].max() for i in range(len(radii))])
