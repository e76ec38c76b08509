"""How many dots close a ring, and how dots walk from one size to another over a given length.

A dot of diameter d and its gap g to the next, edge to edge, take up a chord d + g of the ring of radius r through the
dots' middles; a chord spans the angle 2 asin((d + g) / 2r), so n = pi / asin((d + g) / 2r) close the ring.
"""

import math
from dataclasses import dataclass

from aligncheck.errors import InputError

#: A count this near to a whole number is one: rounding alone makes 6.000000000000001 of six.
WHOLE = 1e-9
#: More dots than this on one ring, or in one walk, are a slip of a unit, not a plan.
MOST_DOTS, MOST_WALKED = 2000, 200
#: Dots of a walked series: from the two ends on.
LEAST_WALKED = 2


@dataclass(frozen=True)
class ClosedRing:
    """So many dots, evenly spaced, with this gap between their edges, close the ring.

    `fitting_mm`: the diameter with which they close it at the gap that was asked for.
    """

    count: int
    gap_mm: float
    fitting_mm: float


@dataclass(frozen=True)
class DotCount:
    """What closes a ring of `radius_mm` (through the dots' middles) with dots of `size_mm`.

    Attributes
    ----------
    exact : float
        n = pi / asin((size + gap) / 2 radius), for the gap asked for; seldom a whole number.
    closed : tuple of ClosedRing
        The next whole counts below and above, fewest dots first, each with the gap that closes it; one alone where
        `exact` is whole already, or where one more dot would overlap its neighbours.
    """

    radius_mm: float
    size_mm: float
    gap_mm: float
    exact: float
    closed: tuple[ClosedRing, ...]


@dataclass(frozen=True)
class Walk:
    """Dots that grow smaller by the same share from each to the next.

    Attributes
    ----------
    sizes_mm : tuple of float
        Diameters, first to last.
    middles_mm : tuple of float
        Where each dot's middle lies, from the outer edge of the first dot.
    gap_mm : float
        Between the edges of neighbours, everywhere the same.
    share : float
        Each diameter over the one before it.
    """

    sizes_mm: tuple[float, ...]
    middles_mm: tuple[float, ...]
    gap_mm: float
    share: float


def dots_on_ring(radius_mm: float, size_mm: float, gap_mm: float = 0.0, multiple: int = 1) -> DotCount:
    """How many dots close a ring.

    Parameters
    ----------
    radius_mm : float
        Of the circle through the dots' middles.
    size_mm, gap_mm : float
        A dot's diameter, and the wish for the gap between edges.
    multiple : int
        Only counts that are a multiple of this (a panel's segments) are offered.

    Raises
    ------
    InputError
        "dots_bad_size", "dots_bad_gap", "dots_too_large" where fewer than `multiple` dots (at least two) fit, or
        "dots_too_many".

    Examples
    --------
    Six coins fit round a seventh of their size:

    >>> dots_on_ring(radius_mm=20, size_mm=20).closed
    (ClosedRing(count=6, gap_mm=0.0, fitting_mm=20.0),)
    """
    _require_length(radius_mm, "--radius")
    _require_length(size_mm, "--size")
    if not 0 <= gap_mm < math.inf:
        raise InputError("dots_bad_gap", text=f"{gap_mm:g} mm")
    sine = (size_mm + gap_mm) / (2 * radius_mm)
    exact = math.pi / math.asin(sine) if sine <= 1 else 0.0
    if exact > MOST_DOTS:
        raise InputError("dots_too_many", number=round(exact), limit=MOST_DOTS)
    closed = _closed(radius_mm, size_mm, gap_mm, exact / multiple, multiple)
    if not closed:
        raise InputError("dots_too_large", size_mm=size_mm, radius_mm=radius_mm, least=max(multiple, 2))
    return DotCount(radius_mm, size_mm, gap_mm, exact, closed)


def closing_gap(radius_mm: float, size_mm: float, count: int) -> float:
    """The gap in mm between the edges of `count` dots evenly spaced on the ring; negative where they overlap."""
    gap = 2 * radius_mm * math.sin(math.pi / count) - size_mm
    # A thousandth of a micrometre is rounding, not an overlap.
    return 0.0 if abs(gap) < 1e-6 else gap


def _closed(radius_mm: float, size_mm: float, gap_mm: float, exact: float, multiple: int) -> tuple[ClosedRing, ...]:
    """The whole counts next to `exact` (in multiples) whose dots do not overlap."""
    nearest = round(exact)
    wholes = [nearest] if abs(exact - nearest) < WHOLE * max(exact, 1) else [math.floor(exact), math.floor(exact) + 1]
    gaps = {n * multiple: closing_gap(radius_mm, size_mm, n * multiple) for n in wholes if n * multiple > 1}
    return tuple(ClosedRing(count, gap, size_mm + gap - gap_mm) for count, gap in gaps.items() if gap >= 0)


def walked_dots(first_mm: float, last_mm: float, length_mm: float, gap_mm: float = 0.0, count: int = 0) -> Walk:
    """Dots from `first_mm` to `last_mm` that fill `length_mm` from outer edge to outer edge.

    Each dot is the same share of the one before it, as a loaded tool gives them while it runs dry; diameters
    d k = first q^k with q = (last / first)^(1 / (n - 1)). The gap between edges is the same everywhere and is what
    closes the length; the count is the one whose gap comes nearest to `gap_mm` without overlap, unless `count` is
    given.

    Raises
    ------
    InputError
        "dots_bad_size", "dots_bad_gap", "dots_bad_count", "dots_too_many", or "walk_too_short" where the dots of both
        ends (or `count` of them) do not fit into the length.
    """
    for value, name in ((first_mm, "--from"), (last_mm, "--to"), (length_mm, "--length")):
        _require_length(value, name)
    if not 0 <= gap_mm < math.inf:
        raise InputError("dots_bad_gap", text=f"{gap_mm:g} mm")
    if count:
        if not LEAST_WALKED <= count <= MOST_WALKED:
            raise InputError("dots_bad_count", text=count)
        chosen = count
    else:
        chosen = _best_count(first_mm, last_mm, length_mm, gap_mm)
    sizes = _sizes(first_mm, last_mm, chosen)
    gap = (length_mm - sum(sizes)) / (chosen - 1)
    if gap < -1e-9:
        least = sum(_sizes(first_mm, last_mm, max(count, LEAST_WALKED)))
        raise InputError(
            "walk_too_short", count=max(count, LEAST_WALKED), least_mm=round(least, 1), length_mm=length_mm
        )
    gap = max(gap, 0.0)
    middles, edge = [], 0.0
    for size in sizes:
        middles.append(edge + size / 2)
        edge += size + gap
    return Walk(tuple(sizes), tuple(middles), gap, sizes[1] / sizes[0])


def _best_count(first_mm: float, last_mm: float, length_mm: float, gap_mm: float) -> int:
    """The count whose gap is nearest to the wish; the length that a walk needs grows with its dots."""
    least = min(first_mm, last_mm)
    if length_mm / least > MOST_WALKED:
        raise InputError("dots_too_many", number=round(length_mm / least), limit=MOST_WALKED)
    best = LEAST_WALKED
    nearest = math.inf
    for count in range(LEAST_WALKED, MOST_WALKED + 1):
        gap = (length_mm - sum(_sizes(first_mm, last_mm, count))) / (count - 1)
        if gap < -1e-9:
            break
        if abs(gap - gap_mm) <= nearest:
            best, nearest = count, abs(gap - gap_mm)
    return best


def _sizes(first_mm: float, last_mm: float, count: int) -> list[float]:
    """Diameters in proportion from the first to the last."""
    share = (last_mm / first_mm) ** (1 / (count - 1))
    return [*(first_mm * share**k for k in range(count - 1)), last_mm]


def _require_length(value: float, name: str) -> None:
    if not 0 < value < math.inf:
        raise InputError("dots_bad_size", name=name, text=f"{value:g} mm")
