"""Shift and turn from everything that the photos say, in one least-squares solution.

A point of the piece that is higher than it was taken for seems to move along the line between two cameras, as a shift
would move it. Across that line matched points are sharp; along it the height decides: given, usual, or, where one
arrangement was photographed from two places, measured, for there nothing has moved and only heights are left.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from aligncheck.placement.match import NO_MATCHES, Matches
from aligncheck.placement.turns import Floats

#: Fewer matches than this in a photo decide nothing; rounds of reweighting; spread of a match never undercut, mm.
FEWEST, ROUNDS, LEAST_MM = 12, 8, 0.04
#: Matches are not independent: neighbours share their patch.
SHARED = 4.0
#: What two silhouettes of one piece from different sides differ by, sd, mm (it hides its own edges), and turned, rad.
OUTLINE_SD_MM, OUTLINE_TURN_SD = 0.35, 0.005
#: Sds that an outline may lie off what matches say: farther, one of them is about something else.
CONTRADICTS = 3.5
#: Heights of points against the edge's: of all together, and of each against that, sd, mm; all but free.
HEIGHT_SD_MM, EACH_SD_MM = 10.0, 4.0
#: Places of the unknowns: shift, turn, the edge's height, the points' mean height.
SHIFT, TURN, EDGE, MEAN, OWN = slice(0, 2), 2, 3, 4, 5


@dataclass(frozen=True)
class Evidence:
    """What one photo says against the first one, all in the common frame.

    Attributes
    ----------
    moved : bool
        Whether the piece was moved in between; else only heights make a difference.
    outline_mm, outline_rad : ndarray (2,), float
        What the outlines lack to fit: shift, and turn.
    edge_parallax : ndarray (2,)
        How far the outline seems to move per mm that its edge is higher.
    matches : Matches
        What matched points lack, turned into the common frame.
    lever_mm, parallax : ndarray (n, 2)
        Of the matched points: from the pivot, and their movement per mm of height.
    """

    moved: bool
    outline_mm: Floats
    outline_rad: float
    edge_parallax: Floats
    matches: Matches
    lever_mm: Floats
    parallax: Floats


@dataclass(frozen=True)
class Solved:
    """What to add to the motion: (dx, dy, turn in radians) with covariance (3, 3); to the edge's height, with its sd.

    `count`: matched points of the moved piece that agree.
    """

    by: Floats
    covariance: Floats
    edge_mm: float
    edge_sd_mm: float
    count: int


def solve(photos: Sequence[Evidence], edge_sd_mm: float, tied_sd_mm: float) -> Solved:
    """Weigh outlines, matches and what is known of heights against each other.

    Matches that the outlines contradict are not the piece's (glass, a reflection): then the outlines alone count.
    """
    solved, worst = _solve(
        [p if len(p.matches.at_mm) >= FEWEST else _without(p) for p in photos], edge_sd_mm, tied_sd_mm
    )
    if solved.count and worst > CONTRADICTS:
        solved, _ = _solve([_without(p) for p in photos], edge_sd_mm, tied_sd_mm)
    return solved


def _solve(used: Sequence[Evidence], edge_sd_mm: float, tied_sd_mm: float) -> tuple[Solved, float]:
    """The solution, and the outlines' largest residual in units of its sd."""
    points = 1 + max((int(p.matches.index.max()) for p in used if len(p.matches.index)), default=-1)
    size = OWN + 2 * len(used) + points
    prior = np.zeros(size)
    prior[EDGE], prior[MEAN] = edge_sd_mm**-2, HEIGHT_SD_MM**-2
    prior[OWN : OWN + 2 * len(used)] = tied_sd_mm**-2
    prior[OWN + 2 * len(used) :] = EACH_SD_MM**-2
    known, wanted = np.diag(prior), np.zeros(size)
    for k, photo in enumerate(used):
        _add_outline(known, wanted, photo, k)
    rows = [_match_rows(photo, k, len(used), size) for k, photo in enumerate(used)]
    design = np.concatenate([r for r in rows if len(r)]) if points else np.zeros((0, size))
    value = np.concatenate([np.einsum("nij,nj->ni", p.matches.sharp, p.matches.apart_mm).ravel() for p in used])
    weight, spread = np.ones(len(value) // 2), 1.0
    normal, solved = known, np.asarray(np.linalg.solve(known, wanted), float)
    for _ in range(ROUNDS if points else 0):
        each = np.repeat(weight, 2) / (SHARED * spread**2)
        normal = known + design.T @ (design * each[:, None])
        solved = np.asarray(np.linalg.solve(normal, wanted + design.T @ (each * value)), float)
        rest = np.hypot(*(value - design @ solved).reshape(-1, 2).T)
        spread = max(1.4826 * float(np.median(rest)), LEAST_MM)
        weight = 1 / (1 + (rest / (2 * spread)) ** 2) ** 2
    covariance = np.linalg.inv(normal)
    moved = np.repeat([p.moved for p in used], [len(p.matches.at_mm) for p in used])
    count = int((moved & (rest < 3 * spread)).sum()) if points else 0
    edge_sd = float(np.sqrt(covariance[EDGE, EDGE]))
    by, spread_of = np.asarray(solved[:3], float), np.asarray(covariance[:3, :3], float)
    return Solved(by, spread_of, float(solved[EDGE]), edge_sd, count), _worst_outline(solved, used)


def _worst_outline(solved: Floats, used: Sequence[Evidence]) -> float:
    """How far, in sds, the solution leaves an outline or its turn."""
    worst = 0.0
    for k, photo in enumerate(used):
        own = solved[OWN + 2 * k : OWN + 2 * k + 2] + solved[EDGE] * photo.edge_parallax
        shift = photo.outline_mm - own - photo.moved * solved[SHIFT]
        turn = photo.outline_rad - photo.moved * solved[TURN]
        worst = max(worst, float(np.hypot(*shift)) / OUTLINE_SD_MM, abs(float(turn)) / OUTLINE_TURN_SD)
    return worst


def _without(photo: Evidence) -> Evidence:
    """The photo's outline alone."""
    none = np.zeros((0, 2))
    return replace(photo, matches=NO_MATCHES, lever_mm=none, parallax=none)


def _add_outline(known: Floats, wanted: Floats, photo: Evidence, k: int) -> None:
    """Add what the outlines say to the normal equations."""
    design = np.zeros((3, len(wanted)))
    design[:2, SHIFT] = np.eye(2) * photo.moved
    design[2, TURN] = float(photo.moved)
    design[:2, EDGE] = photo.edge_parallax
    design[:2, OWN + 2 * k : OWN + 2 * k + 2] = np.eye(2)
    weight = np.array([OUTLINE_SD_MM, OUTLINE_SD_MM, OUTLINE_TURN_SD]) ** -2.0
    known += design.T @ (design * weight[:, None])
    wanted += design.T @ (weight * [*photo.outline_mm, photo.outline_rad])


def _match_rows(photo: Evidence, k: int, photos: int, size: int) -> Floats:
    """The design (2 n, size) of a photo's matches, each weighed by how sharply it shows in each direction."""
    n = len(photo.matches.at_mm)
    design = np.zeros((n, 2, size))
    if photo.moved:
        design[:, :, SHIFT] = np.eye(2)
        design[:, 0, TURN], design[:, 1, TURN] = -photo.lever_mm[:, 1], photo.lever_mm[:, 0]
    design[:, :, MEAN] = photo.parallax
    design[:, :, OWN + 2 * k : OWN + 2 * k + 2] = np.eye(2)
    design[np.arange(n), :, OWN + 2 * photos + photo.matches.index] = photo.parallax
    return (photo.matches.sharp @ design).reshape(2 * n, size)
