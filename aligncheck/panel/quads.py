"""Rectangles in perspective: with the focal length known, two opposite sides and one across give the fourth."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import cross
from aligncheck.panel.segments import Lines
from aligncheck.panel.small import SmallView

Floats = NDArray[np.float64]
Index = NDArray[np.intp]

#: A panel tilted further than this is not worth measuring (35 degrees are asked for, the rest is for rough starts).
MOST_TILT_DEG = 44.0
#: Least share of the photo that the panel fills.
LEAST_AREA = 0.05
#: Corners may lie this far outside the view: a start is rough.
OUTSIDE_PX = 2.0


class Quads(NamedTuple):
    """Many quadrilaterals that a W x H panel could show.

    `corners` (m, 4, 2) in view pixels: two on the line across, then round. `line` (m, 3): the pool lines of sides
    0-1, 1-2 and 3-0; side 2-3 is the one that they imply.
    """

    corners: Floats
    line: Index

    def taken(self, index: Index) -> "Quads":
        """Those at `index`."""
        return Quads(self.corners[index], self.line[index])


def quads_from(
    lines: Lines, view: SmallView, width_mm: float, height_mm: float, outside_px: float = OUTSIDE_PX
) -> Quads:
    """All quadrilaterals that three lines of the pool imply for a panel of this size as it stands in the photo.

    Corners may lie up to `outside_px` outside the view.

    With N the plane through the camera and a line, opposite sides a and c have the common direction d1 = Na x Nc;
    the side b across lies in its own plane and at right angles to d1: d2 = d1 x Nb; the panel's plane is d1 x d2.
    Each pair may continue on either side of b.
    """
    focal = view.focal_px
    planes = np.column_stack([lines.normal, -lines.rho / focal])
    a, b, c = _triples(lines, planes, view, outside_px)
    first, second = cross(planes[a], planes[b]), cross(planes[c], planes[b])
    d1 = cross(planes[a], planes[c])
    d1 /= np.maximum(np.linalg.norm(d1, axis=1, keepdims=True), 1e-12)
    normal = cross(d1, cross(d1, planes[b]))
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    with np.errstate(divide="ignore", invalid="ignore"):
        p1 = first / (normal * first).sum(1, keepdims=True)
        p2 = second / (normal * second).sum(1, keepdims=True)
    flip = np.sign(p1[:, 2:])
    p1, p2 = p1 * flip, p2 * flip
    level = np.abs(lines.normal[b, 1]) > np.abs(lines.normal[b, 0])
    ratio = np.where(level, height_mm / width_mm, width_mm / height_mm)
    side = d1 * (np.linalg.norm(p2 - p1, axis=1) * ratio)[:, None]
    fine = (p2[:, 2] > 0) & (np.abs(normal[:, 2]) > np.cos(np.radians(MOST_TILT_DEG)))
    both = []
    for sign in (1, -1):
        space = np.stack([p1, p2, p2 + sign * side, p1 + sign * side], 1)
        both.append((space, fine & (space[..., 2] > 0).all(1)))
    space = np.concatenate([s[keep] for s, keep in both])
    line = np.column_stack([b, c, a])
    line = np.concatenate([line[keep] for _, keep in both])
    corners = focal * space[..., :2] / space[..., 2:] + view.centre_px
    good = _inside(corners, view, outside_px) & (areas(corners) > LEAST_AREA * view.width * view.height)
    return Quads(corners[good], line[good])


def areas(corners: Floats) -> Floats:
    """Areas (...) of quadrilaterals (..., 4, 2)."""
    p = corners - corners[..., :1, :]
    x, y = p[..., 0], p[..., 1]
    return np.abs((x * np.roll(y, -1, -1) - y * np.roll(x, -1, -1)).sum(-1)) / 2


def _inside(corners: Floats, view: SmallView, outside_px: float) -> NDArray[np.bool_]:
    low = -0.5 - outside_px
    limit = np.array([view.width, view.height]) - 0.5 + outside_px
    return np.asarray(((corners > low) & (corners < limit)).all((1, 2)), bool)


def _triples(lines: Lines, planes: Floats, view: SmallView, outside_px: float) -> tuple[Index, Index, Index]:
    """Lines a, c that may be opposite and b that crosses both in the photo (or near), as three index arrays."""
    rays = cross(planes[:, None], planes[None])
    with np.errstate(divide="ignore", invalid="ignore"):
        points = view.focal_px * rays[..., :2] / rays[..., 2:] + view.centre_px
    size = np.array([view.width, view.height])
    inside = ((points > -outside_px) & (points < size + outside_px)).all(-1)
    cosine = np.abs(lines.normal @ lines.normal.T)
    crossing = inside & (cosine < np.cos(np.radians(35)))
    opposite = np.triu(cosine > np.cos(np.radians(45)), 1)
    shortest = 0.12 * max(view.width, view.height)
    parts = []
    for across in range(len(lines)):
        j = np.flatnonzero(crossing[across])
        a, c = np.nonzero(opposite[np.ix_(j, j)])
        a, c = j[a], j[c]
        far = np.hypot(*(points[a, across] - points[c, across]).T) > shortest
        parts.append(np.stack([a[far], np.full(int(far.sum()), across), c[far]]))
    triples = np.concatenate(parts, axis=1).astype(np.intp) if parts else np.zeros((3, 0), np.intp)
    return triples[0], triples[1], triples[2]
