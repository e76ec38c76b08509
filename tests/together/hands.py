"""A panel drawn by hand, and what several photos with maps of their own would measure of it; no pictures involved."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Line, Marks, Ring, Spoke
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.together.seen import quarter_turn

Floats = NDArray[np.float64]

#: Own standard deviations, mm, of the drawing as seen: the grain that all photos share, and the pixels of each.
GRAIN_MM, PIXELS_MM = 0.02, 0.005
#: Standard deviation of a map's corners, mm.
CORNER_MM = 0.12
SIZE_MM = (304.8, 304.8)


def map_covariance(corner_mm: float = CORNER_MM) -> Floats:
    return np.diag([corner_mm**2] * 8 + [0.004**2, 0.002**2])


def exact_panel(size_mm: tuple[float, float] = SIZE_MM, seed: int = 0) -> Panel:
    """A panel seen obliquely by a phone."""
    rng = np.random.default_rng(seed)
    corners = np.array([[1050.0, 500], [3000, 560], [2950, 2500], [1000, 2450]]) + rng.normal(0, 60, (4, 2))
    if size_mm[0] != size_mm[1]:
        corners[2:, 1] += (size_mm[1] / size_mm[0] - 1) * 1900
    return Panel.from_corners(*size_mm, Lens(3050.0, 2015.5, 1511.5, 0.03, -0.01, "panel"), corners, map_covariance())


def drawn(seed: int, segments: int = 12, rings: int = 5, hand_mm: float = 0.6, size_mm: tuple[float, float] = SIZE_MM):
    """Marks exactly as drawn: spokes and rings off their places by `hand_mm`."""
    rng = np.random.default_rng(seed)
    centre = rng.normal(0, hand_mm, 2)
    spokes = []
    for k in range(segments):
        angle = 7.0 + 360.0 * k / segments
        across = np.array([[0.0, 1.0], [-1.0, 0.0]]) @ outward(angle)
        inner = centre + 8 * outward(angle) + across * rng.normal(0, hand_mm)
        outer = centre + 120 * outward(angle) + across * rng.normal(0, hand_mm)
        spokes.append(Spoke(inner, outer, np.eye(2) * GRAIN_MM**2, 0.9, (0.2, 0.2), place=k))
    circles = tuple(
        Ring(centre + rng.normal(0, hand_mm / 2, 2), 22.0 * (k + 1) + rng.normal(0, hand_mm), np.eye(3) * 0.01**2)
        for k in range(rings)
    )
    panel = Panel.from_corners(
        *size_mm, Lens(3000.0, 2000.0, 1500.0), nominal_corners(*size_mm) * 6 + 1500, map_covariance()
    )
    mark = Centre(centre, np.eye(2) * 0.02**2, "mark")
    return Marks(panel, mark, None, segments, tuple(spokes), circles)


def grained(marks: Marks, seed: int) -> Marks:
    """The same with the chalk's grain in it, as every photo sees it."""
    return _jittered(marks, np.random.default_rng(seed), GRAIN_MM)


def _jittered(marks: Marks, rng: np.random.Generator, sd: float) -> Marks:
    spokes = tuple(
        replace(
            s, inner_mm=s.inner_mm + s.across * rng.normal(0, sd), outer_mm=s.outer_mm + s.across * rng.normal(0, sd)
        )
        for s in marks.spokes
    )
    rings = tuple(
        replace(r, centre_mm=r.centre_mm + rng.normal(0, sd / 2, 2), radius_mm=r.radius_mm + rng.normal(0, sd / 2))
        for r in marks.rings
    )
    centre = replace(marks.centre, xy_mm=marks.centre.xy_mm + rng.normal(0, sd, 2))
    return replace(marks, spokes=spokes, rings=rings, centre=centre)


def seen_by(
    marks: Marks, seed: int, quarters: int = 0, corner_mm: float = CORNER_MM, error: Floats | None = None
) -> Marks:
    """What one photo measures: pixel noise, then a map that is wrong by its own covariance (or by `error`).

    The panel lies turned anticlockwise by `quarters`, so that as many clockwise turns bring it back.
    """
    rng = np.random.default_rng(seed)
    turned = turn(_jittered(marks, rng, PIXELS_MM), -quarters)
    size = (marks.panel.width_mm, marks.panel.height_mm)[:: -1 if quarters % 2 else 1]
    exact = exact_panel(size, seed)
    p = rng.normal(0, np.sqrt(np.diag(map_covariance(corner_mm)))) if error is None else error
    panel = replace(exact, covariance=map_covariance(corner_mm))

    def move(points: Floats) -> Floats:
        # True = measured + F p.
        return points - panel.field(points) @ p

    around = outward(np.arange(36) * 10.0)
    rings = []
    for r in turned.rings:
        path = move(r.centre_mm + r.radius_mm * around)
        design = np.column_stack([np.ones(36), around])
        out = np.linalg.lstsq(design, ((path - r.centre_mm) * around).sum(1), rcond=None)[0]
        rings.append(replace(r, centre_mm=r.centre_mm + out[1:], radius_mm=float(out[0])))
    spokes = tuple(replace(s, inner_mm=move(s.inner_mm), outer_mm=move(s.outer_mm)) for s in turned.spokes)
    centre = replace(turned.centre, xy_mm=move(turned.centre.xy_mm))
    return replace(turned, panel=panel, spokes=spokes, rings=tuple(rings), centre=centre)


def turn(marks: Marks, quarters: int) -> Marks:
    """The marks with the panel turned clockwise by quarters."""
    matrix = quarter_turn(quarters)
    spokes = sorted(
        (replace(s, inner_mm=matrix @ s.inner_mm, outer_mm=matrix @ s.outer_mm) for s in marks.spokes),
        key=lambda s: s.angle_deg,
    )
    rings = tuple(replace(r, centre_mm=matrix @ r.centre_mm) for r in marks.rings)
    centre = replace(marks.centre, xy_mm=matrix @ marks.centre.xy_mm)
    return replace(marks, spokes=tuple(spokes), rings=rings, centre=centre)


def end_errors(found: Marks, true: Marks) -> Floats:
    """Across each true spoke, how far the found one's outer end lies off, mm."""
    errors = []
    for s in true.spokes:
        mine: Line = min(found.spokes, key=lambda f: float(np.linalg.norm(f.outer_mm - s.outer_mm)))
        errors.append(float((mine.outer_mm - s.outer_mm) @ s.across))
    return np.array(errors)
