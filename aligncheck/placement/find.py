"""The front of this package: where does the piece lie now against the earlier photo?"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from aligncheck.centrepiece.outline import centroid
from aligncheck.centrepiece.plan import seen_at
from aligncheck.errors import CentrepieceError
from aligncheck.notes import Note
from aligncheck.placement.common import common_panels
from aligncheck.placement.match import Look, Views
from aligncheck.placement.outlines import Fit, fit_near, fits
from aligncheck.placement.placement import Placement
from aligncheck.placement.sides import Arranged, Side, parallax
from aligncheck.placement.solve import FEWEST, OUTLINE_SD_MM, Evidence, Solved, solve
from aligncheck.placement.through import of_the_panel
from aligncheck.placement.turns import Floats, Motion, turn_matrix

#: Height of an outer edge that nobody measured, mm, and its sd: petals of paper, wood or fabric lie 0 to 10 mm high.
EDGE_MM, EDGE_SD_MM = 5.0, 2.5
#: A given height is measured with a ruler.
GIVEN_SD_MM = 0.5
#: An outline that is left this far, mm, is another piece's, or was rearranged.
OTHER_PIECE_MM = 1.5
#: Of outlines that fit nearly as well as the best, the picture of the piece decides.
NEARLY = 2.0
#: Photos of one arrangement may differ by what its height makes and so much more, mm and degrees.
STILL_MM, STILL_DEG = 1.0, 1.5
#: What cameras' places are known to leaves open of a turn, rad.
TURN_SD = 0.0015


def find_placement(
    now: Arranged,
    earlier: Arranged,
    height_mm: float | None = None,
    *,
    more_now: Sequence[Arranged] = (),
    more_earlier: Sequence[Arranged] = (),
) -> Placement:
    """Measure how the piece was moved from the earlier photo to the present one.

    Parameters
    ----------
    now, earlier : Arranged
    height_mm : float, optional
        Height of the piece's outer edge; without it the shift along the line between the two cameras is less sure.
    more_now, more_earlier : sequence of Arranged
        The piece as it lies now, and as it lay, from other places: they measure its height.

    Raises
    ------
    CentrepieceError
        "other_panel" where the photos show other marks, "other_piece" where the outlines do not fit each other,
        "rearranged" where photos of one arrangement show the piece in two places.
    """
    photos = [earlier, now, *more_earlier, *more_now]
    moved = [False, True, *(False for _ in more_earlier), *(True for _ in more_now)]
    # Where the marks differ, the present photo is the one in hand: what was named beside it is wrong.
    blamed = [earlier.name, earlier.name, *(p.name for p in photos[2:])]
    common = common_panels([p.drift.marks for p in photos], blamed)
    turns = [turn_matrix(90.0 * q) for q in common.quarters]
    sides = [Side(p, panel, turn) for p, panel, turn in zip(photos, common.panels, turns, strict=True)]
    first, second = sides[:2]
    edge, edge_sd = (EDGE_MM, EDGE_SD_MM) if height_mm is None else (height_mm, GIVEN_SD_MM)
    plan = first.plan(edge)
    pivot = centroid(plan)
    looks = [s.look for s in sides]
    fit = _best(fits(plan, second.plan(edge), pivot, centroid(second.plan(edge))), looks[:2], plan, edge)
    if fit.rest_mm > OTHER_PIECE_MM:
        raise CentrepieceError("other_piece", file=earlier.name)
    still = Motion(pivot, np.zeros(2), 0.0)
    evidence = []
    for side, look, has_moved in zip(sides[1:], looks[1:], moved[1:], strict=True):
        base = fit.motion if has_moved else still
        laid = fit if side is second else fit_near(plan, side.plan(edge), base)
        _require_same(laid, base, first, side, (edge, edge_sd), (second if has_moved else first).arranged.name)
        views = Views(looks[0], look, plan, base, edge)
        evidence.append(replace(_evidence(first, side, base, laid.motion, edge, views), moved=has_moved))
    solved = solve(evidence, edge_sd, common.sd_mm)
    return _placement(fit.motion, solved, edge, height_mm is None, first, second, common.quarters[1])


def _best(found: list[Fit], looks: list[Look], plan: Floats, edge: float) -> Fit:
    """The best fit; among those that fit nearly as well, the one at which most points are found in both pictures."""
    limit = NEARLY * found[0].rest_mm + 0.05
    near: list[Fit] = []
    for fit in found:
        apart = [abs((fit.motion.turn_deg - o.motion.turn_deg + 180) % 360 - 180) for o in near]
        if fit.rest_mm <= limit and all(a > 3 for a in apart):
            near.append(fit)
    if len(near) < 2:
        return found[0]
    return max(near, key=lambda f: len(Views(looks[0], looks[1], plan, f.motion, edge).matches().index))


def _require_same(laid: Fit, base: Motion, first: Side, side: Side, edge: tuple[float, float], beside: str) -> None:
    """Refuse a further photo that does not show the arrangement that it stands for."""
    size = float(np.hypot(*parallax(first, side, base.pivot_mm, base, edge[0])))
    by_height = 3 * (edge[1] * size + OUTLINE_SD_MM)
    away = float(np.hypot(*(laid.motion.shift_mm - base.shift_mm)))
    turned = abs((laid.motion.turn_deg - base.turn_deg + 180) % 360 - 180)
    if laid.rest_mm > OTHER_PIECE_MM or away > by_height + STILL_MM or turned > STILL_DEG:
        raise CentrepieceError("rearranged", file=side.arranged.name, other=beside)


def _evidence(first: Side, side: Side, base: Motion, laid: Motion, edge: float, views: Views) -> Evidence:
    """What one photo says, against the base motion, in the common frame."""
    # The views lie in the earlier plan: what is displaced there is turned with the piece.
    found = views.matches().turned(turn_matrix(base.turn_deg))
    matches = found.only(~of_the_panel(first, side, found, base, edge))
    return Evidence(
        moved=True,
        outline_mm=laid.shift_mm - base.shift_mm,
        outline_rad=float(np.radians((laid.turn_deg - base.turn_deg + 180) % 360 - 180)),
        edge_parallax=parallax(first, side, base.pivot_mm, base, edge),
        matches=matches,
        lever_mm=base(matches.at_mm) - base.pivot_mm - base.shift_mm,
        parallax=parallax(first, side, matches.at_mm, base, edge),
    )


def _placement(
    base: Motion, solved: Solved, edge: float, unknown: bool, first: Side, second: Side, quarters: int
) -> Placement:
    """The figures with their intervals, and what to draw."""
    motion = base.nudged(solved.by)
    height = max(edge + solved.edge_mm, 0.0)
    plan = first.plan(height)
    middle = centroid(plan)
    shift = motion(middle) - middle
    u95 = 1.96 * np.sqrt(np.diag(solved.covariance)[:2])
    turn = (motion.turn_deg + 180) % 360 - 180
    turn_u95 = 1.96 * float(np.hypot(np.sqrt(solved.covariance[2, 2]), TURN_SD))
    back = -(second.turn.T @ shift)
    radius = float(np.hypot(*(plan - middle).T).max())
    notes = () if solved.count >= FEWEST else (Note("placement_by_outline"),)
    if unknown and float(u95.max()) > 1.0:
        notes = (*notes, Note("placement_height"))
    return Placement(
        dx_mm=float(shift[0]),
        dx_u95_mm=float(u95[0]),
        dy_mm=float(shift[1]),
        dy_u95_mm=float(u95[1]),
        turn_deg=turn,
        turn_u95_deg=float(np.degrees(turn_u95)),
        quarters=quarters,
        back_mm=(float(back[0]), float(back[1])),
        tips_mm=float(-np.radians(turn) * radius),
        tips_u95_mm=turn_u95 * radius,
        height_mm=height,
        height_u95_mm=1.96 * solved.edge_sd_mm,
        matches=solved.count,
        # The earlier plan from the present camera, in the present photo's own panel frame.
        earlier_outline_mm=seen_at(plan, second.camera_mm, height) @ second.turn,
        notes=notes,
    )
