"""Construction lines across the panel, from corner to corner or side to side: found outside the layout."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile
from aligncheck.marks.marks import Line
from aligncheck.marks.sampling import sample_rows, straight
from aligncheck.marks.windows import Windows, ridge_response
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners

Floats = NDArray[np.float64]

#: How far a hand's corner-to-corner line may pass a corner or the centre, as a share of the panel's shorter side.
STRIP_SHARE = 0.02
STEP_MM, ROW_MM = 0.15, 0.5
#: First search: pitch of the offsets, and rows joined into one (2 mm).
GRID_MM, BLOCK_ROWS = 0.4, 4
#: A line's mean response along both halves, 1 for an unbroken strong one.
LEAST_MEAN = 0.22
#: Share of the rows outside the layout, on each side of it, that must carry the line.
SHARE_SEEN = 0.5
#: Rows scatter less than this about a drawn line; the grain of the ground scatters over the whole strip.
MOST_SCATTER_MM = 0.35


#: Lines from side to side have little room outside the layout: rows are looked at beyond this much of its reach, up to
#: this near to the side, and a line must show in the last so many mm: long spokes stop short of the side.
PAST_LAYOUT, PAST_LAYOUT_MM, SIDE_MM, LAST_MM = 1.03, 3.0, 2.0, 10.0


def measure_diagonals(
    grey: NDArray[np.uint8], panel: Panel, centre_mm: Floats, reach_mm: float, width_mm: float, light: bool
) -> tuple[Line, ...]:
    """Find and measure the corner-to-corner lines, at most two, each from the upper corner down.

    Only rows beyond the layout are used: there the line lies alone, and fitted there it is known to about 0.01 mm
    inside the layout, where spokes hide it.
    """
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    beyond_mm, margin_mm = 1.06 * reach_mm + 4.0, _strip_mm(panel)
    lines = (
        _measure(grey, panel, (corners[k], corners[k + 2]), centre_mm, beyond_mm, margin_mm, width_mm, light)
        for k in (0, 1)
    )
    return tuple(line for line in lines if line is not None)


def measure_midlines(
    grey: NDArray[np.uint8], panel: Panel, centre_mm: Floats, reach_mm: float, width_mm: float, light: bool
) -> tuple[Line, ...]:
    """Find and measure the lines from side to side about the panel's middle, at most two: down, then across."""
    ends = np.diag([panel.width_mm, panel.height_mm]) / 2
    beyond_mm = PAST_LAYOUT * reach_mm + PAST_LAYOUT_MM
    lines = (
        _measure(grey, panel, (-end, end), centre_mm, beyond_mm, SIDE_MM, width_mm, light, LAST_MM)
        for end in (ends[1], ends[0])
    )
    return tuple(line for line in lines if line is not None)


def _strip_mm(panel: Panel) -> float:
    """How far a hand's line may pass a corner, a side's middle or the centre."""
    return max(3.0, STRIP_SHARE * min(panel.width_mm, panel.height_mm))


def _measure(
    grey: NDArray[np.uint8],
    panel: Panel,
    ends: tuple[Floats, Floats],
    centre_mm: Floats,
    beyond_mm: float,
    margin_mm: float,
    width_mm: float,
    light: bool,
    last_mm: float = np.inf,
) -> Line | None:
    """The line between `ends`, from rows `beyond_mm` from the centre and `margin_mm` within the sides.

    It must show in most of its rows, also in those of the `last_mm` at either end.
    """
    half = _strip_mm(panel)
    start, end = ends
    points, normals = straight(start, end, ROW_MM)
    along = ((points - points.mean(0)) @ (end - start)) / np.hypot(*(end - start))
    edge = np.abs(points) < np.array([panel.width_mm, panel.height_mm]) / 2 - margin_mm
    beyond = np.hypot(*(points - centre_mm).T) > beyond_mm
    rows = np.nonzero(edge.all(1) & beyond)[0]
    sides = along[rows] > 0
    if min(sides.sum(), (~sides).sum()) < 8 / ROW_MM:
        return None
    offsets = np.arange(-half - 2 * width_mm, half + 2 * width_mm + STEP_MM / 2, STEP_MM)
    values = sample_rows(grey, panel, points[rows], normals[rows], offsets) * (1 if light else -1)
    response = ridge_response(values, offsets, width_mm)
    first = _strongest_line(response, offsets, along[rows], half)
    if first is None:
        return None
    return _fit(grey, panel, points[rows], normals[rows], along[rows], first, width_mm, light, ends, last_mm)


def _strongest_line(response: Floats, offsets: Floats, along: Floats, half: float) -> tuple[float, float] | None:
    """Offset at the middle and slope of the line with the largest sum, both sides of the layout counting alike."""
    level = max(float(quantile(response.max(1), 0.7)), 1e-6)
    clipped = np.clip(response / level, -0.25, 1.0)
    longest = float(np.abs(along).max())
    grid = np.linspace(-half, half, round(half / GRID_MM) * 2 + 1)
    right, left = (_sums(clipped, offsets, along / longest, side, grid) for side in (along > 0, along < 0))
    both = np.minimum(right, left[:, ::-1])
    m, s = np.unravel_index(int(both.argmax()), both.shape)
    return (float(grid[m]), float(grid[s] / longest)) if both[m, s] > LEAST_MEAN else None


def _sums(clipped: Floats, offsets: Floats, share: Floats, side: NDArray[np.bool_], grid: Floats) -> Floats:
    """Mean along lines from offset m at the middle to m + s at the corner, for all m and s of `grid`: (m, s)."""
    rows = np.nonzero(side)[0]
    blocks = np.array_split(np.arange(len(rows)), max(1, len(rows) // BLOCK_ROWS))
    means = np.array([clipped[rows[b]].mean(0) for b in blocks])
    at = np.array([np.abs(share[rows[b]]).mean() for b in blocks])
    where = (grid[:, None, None] + grid[None, :, None] * at - offsets[0]) / (offsets[1] - offsets[0])
    index = np.clip(np.round(where).astype(int), 0, len(offsets) - 1)
    return np.asarray(means[np.arange(len(blocks)), index].mean(-1))


def _fit(
    grey: NDArray[np.uint8],
    panel: Panel,
    points: Floats,
    normals: Floats,
    along: Floats,
    first: tuple[float, float],
    width_mm: float,
    light: bool,
    ends: tuple[Floats, Floats],
    last_mm: float,
) -> Line | None:
    """Refine on rows sampled along the line itself; None where they do not line up."""
    windows = Windows.of_width(width_mm)
    line = np.array(first)
    design = np.column_stack([np.ones_like(along), along])
    for _ in range(3):
        path = points + (design @ line)[:, None] * normals
        values = sample_rows(grey, panel, path, normals, windows.offsets_mm) * (1 if light else -1)
        rows = windows.measure(values, smooth_rows=max(1, round(1.0 / ROW_MM)))
        weight = rows.weight
        for _ in range(3):
            normal = (design * weight[:, None]).T @ design + 1e-9 * np.eye(2)
            change = np.linalg.solve(normal, (design * weight[:, None]).T @ rows.offset_mm)
            rest = rows.offset_mm - design @ change
            strong = rows.amplitude > 0.3
            spread = 1.4826 * median(np.abs(rest[strong])) if strong.any() else 1.0
            weight = rows.weight * np.clip(1 - (rest / (4 * max(spread, 0.02))) ** 2, 0, 1) ** 2
        line = line + change
    seen = (rows.amplitude > 0.2) & (np.abs(rest) < 0.5 + width_mm / 2)
    shares = [
        seen[side & (np.abs(along) > np.abs(along[side]).max() - last_mm)].mean() for side in (along > 0, along < 0)
    ]
    if min(shares) < SHARE_SEEN or spread > MOST_SCATTER_MM:
        return None
    # 1.5 mm of chalk is one independent value: the grain's integral scale.
    variance = float((weight * rest**2).sum() / weight.sum()) * (1.5 / ROW_MM)
    covariance = np.linalg.inv(normal / weight.max()) * variance
    return _as_line(line, covariance, ends, normals[0], width_mm)


def _as_line(line: Floats, covariance: Floats, ends: tuple[Floats, Floats], normal: Floats, width_mm: float) -> Line:
    length = float(np.hypot(*(ends[1] - ends[0])))
    at_ends = np.array([[1.0, -length / 2], [1.0, length / 2]])
    shifts = at_ends @ line
    return Line(
        ends[0] + shifts[0] * normal,
        ends[1] + shifts[1] * normal,
        at_ends @ covariance @ at_ends.T,
        width_mm,
    )
