"""The plain search: outlines that three lines imply, judged by what meets along their sides."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.polish import clearest_track
from aligncheck.panel.quads import Quads, areas, quads_from
from aligncheck.panel.rim import rim_unevenness, sides_of
from aligncheck.panel.segments import Lines
from aligncheck.panel.small import SmallView
from aligncheck.panel.steps import StepSums, lasting, steps_across

Floats = NDArray[np.float64]

#: How many outlines are judged by all four sides (right ones are among the first hundred by three), and how many
#: different ones get their weakest side searched.
BY_FOUR, DIFFERENT = 250, 26
#: Outlines nearer than this (any corner, view pixels) are one and the same.
SAME_PX = 16.0
#: A side going on beyond its corners is looked for over this share of its length.
BEYOND = 0.14
#: The implied side may lie this far off at either end: line errors grow along the way.
SLIDE_PX = 12.0
PLACES = 40


class Outline(NamedTuple):
    """A possible outline of the panel's face.

    Attributes
    ----------
    corners : ndarray (4, 2), pixels of the small view, clockwise from the top left one
    score : float, about 9 and more for a plain case
    steps : ndarray (4, 3), mean lasting steps outside to inside per side and channel
    """

    corners: Floats
    score: float
    steps: Floats


def plain_outlines(view: SmallView, lines: Lines, width_mm: float, height_mm: float) -> list[Outline]:
    """Return different outlines, best first, that `lines` imply in `view`."""
    quads = quads_from(lines, view, width_mm, height_mm)
    if len(quads.corners) == 0:
        return []
    known = pool_steps(quads, lines, view)
    strength = np.linalg.norm(known, axis=-1)
    first = np.argsort(-_side_score(strength).sum(1))[:BY_FOUR]
    quads, known = quads.taken(first), known[first]
    steps = np.concatenate([known[:, :2], side_steps(view, quads.corners, 2)[:, None], known[:, 2:]], axis=1)
    score = outline_score(view, quads.corners, steps)
    order = np.argsort(-score)
    order = order[different(quads.corners[order], DIFFERENT)]
    corners = _slide_implied(view, quads.corners[order])
    return ranked(view, corners)


def ranked(view: SmallView, corners: Floats) -> list[Outline]:
    """Judge outlines (m, 4, 2) by direct sampling; different ones only, best first."""
    if len(corners) == 0:
        return []
    steps = np.stack([side_steps(view, corners, k) for k in range(4)], axis=1)
    score = outline_score(view, corners, steps) - going_on(view, corners, steps)
    order = np.argsort(-score)
    order = order[different(corners[order], len(order))]
    return [_upright(corners[k], float(score[k]), steps[k]) for k in order]


def outline_score(view: SmallView, corners: Floats, steps: Floats) -> Floats:
    """Score (m,) of outlines (m, 4, 2) with the mean steps (m, 4, 3) along their sides.

    Four terms: how clear each side is; that no side is missing; that the same two surfaces meet on all four sides;
    that the panel is large. Less what the rim shows of other surfaces.
    """
    strength = np.linalg.norm(steps, axis=-1)
    alike = np.linalg.norm((steps / (strength + 0.15)[..., None]).mean(1), axis=-1)
    share = areas(corners) / (view.width * view.height)
    return np.asarray(
        _side_score(strength).sum(1) + 2 * alike + 0.5 * np.sqrt(share) - 3 * rim_unevenness(view, corners)
    )


def _side_score(strength: Floats) -> Floats:
    clear = np.minimum(strength, 1) + 0.25 * np.maximum(strength - 1, 0)
    return np.asarray(clear + 1.2 * (1 - np.exp(-((strength / 0.35) ** 2))))


def side_steps(view: SmallView, corners: Floats, side: int) -> Floats:
    """Mean lasting step (m, 3), outside to inside, of one side of outlines (m, 4, 2)."""
    start, along, inward = (v[:, side] for v in sides_of(corners))
    t = (np.arange(PLACES) + 0.5) / PLACES
    near, far = steps_across(view, start[:, None] + t[:, None] * along[:, None], inward[:, None])
    return lasting(near.mean(1), far.mean(1))


def going_on(view: SmallView, corners: Floats, steps: Floats) -> Floats:
    """Penalty (m,) for sides whose step goes on beyond the corners, as a table's edge or a mat's line does."""
    return np.asarray(0.25 * np.clip(ends_going_on(view, corners, steps), 0, 1).sum((1, 2)))


def ends_going_on(view: SmallView, corners: Floats, steps: Floats) -> Floats:
    """Step (m, 4, 2) just beyond both ends of each side of outlines (m, 4, 2), along the side's own step (m, 4, 3)."""
    start, along, inward = sides_of(corners)
    t = np.concatenate([-BEYOND + np.arange(6) / 6 * (BEYOND - 0.03), 1.03 + np.arange(6) / 6 * (BEYOND - 0.03)])
    points = start[:, :, None] + t[:, None] * along[:, :, None]
    near, _ = steps_across(view, points, inward[:, :, None])
    unit = steps / np.maximum(np.linalg.norm(steps, axis=-1, keepdims=True), 0.15)
    return np.asarray((near.reshape(*near.shape[:2], 2, 6, 3).mean(3) * unit[:, :, None]).sum(-1))


def different(corners: Floats, most: int) -> NDArray[np.intp]:
    """Indices of outlines (m, 4, 2), in their order, that differ from all earlier ones; at most `most`."""
    kept: list[int] = []
    left, middle = np.arange(len(corners)), corners.mean(1)
    while len(left) and len(kept) < most:
        first = int(left[0])
        kept.append(first)
        same = (np.abs(middle[left] - middle[first]) < SAME_PX).all(1)
        near = left[same]
        apart = np.linalg.norm(corners[near][:, :, None] - corners[first], axis=-1)
        same[same] = np.maximum(apart.min(1).max(1), apart.min(2).max(1)) <= SAME_PX
        left = left[~same]
    return np.array(kept, np.intp)


def corner_distance(one: Floats, other: Floats) -> float:
    """Largest distance between corners of two outlines (4, 2), whichever corner comes first."""
    apart = np.linalg.norm(one[:, None] - other[None], axis=-1)
    return float(max(apart.min(1).max(), apart.min(0).max()))


def pool_steps(quads: Quads, lines: Lines, view: SmallView) -> Floats:
    """Mean lasting steps (m, 3, 3) of the sides 0-1, 1-2, 3-0 along their pool lines, outside to inside."""
    sums = StepSums.along(lines, view)
    tangent = np.stack([-lines.normal[:, 1], lines.normal[:, 0]], -1)
    relative = quads.corners - view.centre_px
    middle = relative.mean(1)
    found = []
    for side, (p, q) in enumerate(((0, 1), (1, 2), (3, 0))):
        line = quads.line[:, side]
        start, end = ((relative[:, k] * tangent[line]).sum(1) for k in (p, q))
        means = sums.mean(line, start, end)
        inward = np.sign((middle * lines.normal[line]).sum(1) - lines.rho[line])[:, None]
        found.append(lasting(means[:, :3] * inward, means[:, 3:] * inward))
    return np.stack(found, axis=1)


def _slide_implied(view: SmallView, corners: Floats) -> Floats:
    """Move the implied side 2-3 at both ends, along its neighbours, to where its step is clearest."""
    inward = sides_of(corners)[2][:, 2]
    chosen = clearest_track(view, corners, 2, SLIDE_PX)
    moved = corners.copy()
    for corner, neighbour, k in ((2, 1, 0), (3, 0, 1)):
        way = corners[:, neighbour] - corners[:, corner]
        way /= np.linalg.norm(way, axis=1, keepdims=True)
        slope = np.maximum((way * inward).sum(1), 0.4)
        moved[:, corner] += way * (chosen[:, k] / slope)[:, None]
    return moved


def _upright(corners: Floats, score: float, steps: Floats) -> Outline:
    """Corners clockwise from the top left one, where the top is the side that lies uppermost."""
    if not clockwise(corners):
        corners = corners[::-1]
        steps = steps[[2, 1, 0, 3]]
    top = int(np.argmin((corners + np.roll(corners, -1, axis=0))[:, 1]))
    return Outline(np.roll(corners, -top, axis=0), score, np.roll(steps, -top, axis=0))


def clockwise(corners: Floats) -> bool:
    """Whether corners (4, 2) go round clockwise as seen (y points down)."""
    # Twice the area, by the diagonals.
    (ax, ay), (bx, by) = (corners[2] - corners[0]).tolist(), (corners[3] - corners[1]).tolist()
    return bool(ax * by - ay * bx > 0)
