"""From rough corners to the panel's sides at full resolution."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.small import median
from aligncheck.lens import Lens
from aligncheck.panel.covariance import map_covariance, unevenness
from aligncheck.panel.edge_bands import bands_beside, with_band
from aligncheck.panel.edges import FEW_LINES, LINES, Edges, read_edge_strip
from aligncheck.panel.in_common import Sides
from aligncheck.panel.inner_edge import DEPTHS_MM, SLACK, inner_edges
from aligncheck.panel.kind import DEEP_MM, makes_of
from aligncheck.panel.known_camera import KnownCamera, believed_camera
from aligncheck.panel.panel import Panel
from aligncheck.panel.rounded import px_per_mm_across, rounding
from aligncheck.panel.shape import ShapeFit, fit_shape, shape_chi2
from aligncheck.panel.side_bow import DEEP, STRAIGHT, UNKNOWN, Bow
from aligncheck.panel.side_choice import choose_tracks, crossings, next_outside
from aligncheck.panel.side_fit import SideFit
from aligncheck.panel.side_look import looks_at_sides, shows
from aligncheck.panel.side_search import BENDS, coarse_strip, pick_tracks, track_strengths
from aligncheck.panel.told_apart import Seen, told_apart
from aligncheck.photo import Photo

__all__ = ["SideFit", "fit_sides"]

Floats = NDArray[np.float64]

#: How far (px at 4032 px width) the true side may lie from the start: a search on a reduced picture; by hand.
REACH_PX, TIGHT_REACH_PX = 26.0, 11.0
#: A search that went this share of its reach is repeated from where it ended.
FAR = 0.7
#: Of the fine passes: search range, residual beyond which a piece loses weight (px), lines read for a piece. The last
#: is repeated while corners move by more than SETTLED (px): what is found must not hang on where the search began.
PASSES = ((4.0, 1.0, FEW_LINES), (2.5, 0.5, LINES), (2.5, 0.5, LINES), (2.5, 0.5, LINES))
SETTLED = 0.5
#: A face as wide as the told thickness shows is no chance: the shape may suit so much worse (chi-squared) with it.
AS_TOLD = 3.0
#: Corners of clear pictures are right to about this (mm), whatever their pieces claim.
CORNER_MM = 0.1


def fit_sides(
    photo: Photo,
    corners_px: ArrayLike,
    width_mm: float,
    height_mm: float,
    lens: Lens | None = None,
    depth_mm: float | None = None,
    tight: bool = False,
) -> SideFit:
    """Fit the four sides near `corners_px` at full resolution, in linear light.

    Parameters
    ----------
    photo : Photo
    corners_px : array_like (4, 2)
        Start, right to about 12 px at 4032 px width: top left, top right, bottom right, bottom left.
    width_mm, height_mm : float
        Size of the panel as it stands in the photo.
    lens : Lens, optional
        Of a profile: bend and focal length are then held to it.
    depth_mm : float, optional
        Thickness of the panel: tells how its edges are rounded and how wide its side faces show.
    tight : bool
        The start is right to about 9 px and a stronger edge further off is not wanted.
    """
    start = np.asarray(corners_px, float)
    size = float(max(photo.width_px, photo.height_px))
    unit = max(1.0, size / 4032)
    camera = believed_camera(photo, lens)
    reach = max((TIGHT_REACH_PX if tight else REACH_PX) * size / 4032, 8.0)
    found = _search(photo, start, camera, (width_mm, height_mm), reach, unit, lens is not None)
    if not tight and _moved(found.corners_px, start) > FAR * reach:
        # A start so far off may hide the true side behind the end of the reach: look again from what was found.
        found = _search(photo, found.corners_px, camera, (width_mm, height_mm), reach, unit, lens is not None)
    corners, bent = found.corners_px, found.lens
    sides: list[Edges] = []
    for number, (search_px, scale_px, lines) in enumerate(PASSES):
        looks = looks_at_sides(photo, corners, bent, found.next_px, unit, search_px * unit, lines)
        # A side that does not show is not looked for again: its pieces would follow the noise.
        kept = [number > 1 and not shows(edges) for edges in sides] or [False] * 4
        sides = [sides[i] if kept[i] else look.edges(photo) for i, look in enumerate(looks)]
        fit = fit_shape(sides, corners, camera._replace(start=bent), width_mm, height_mm, scale_px * unit)
        moved = _moved(fit.corners_px, corners)
        corners, bent = fit.corners_px, fit.lens
        if number and moved < SETTLED * unit:
            break
    blurs = [look.blur_px for look in looks]
    sides = _with_bands(photo, fit, sides, blurs, found.next_px, (width_mm, height_mm), depth_mm, unit)
    if any(edges.banded for edges in sides):
        fit = fit_shape(sides, corners, camera._replace(start=bent), width_mm, height_mm, PASSES[-1][1] * unit)
    sides, fit = _at_inner_edges(photo, fit, sides, blurs, camera, (width_mm, height_mm), depth_mm, unit)
    finished = _finish(fit, sides, camera, (width_mm, height_mm), depth_mm, size)
    return finished._replace(passed_over=found.passed_over)


def _with_bands(
    photo: Photo,
    fit: ShapeFit,
    sides: list[Edges],
    blurs: list[float],
    follows: list[Floats | None],
    size_mm: tuple[float, float],
    depth_mm: float | None,
    unit: float,
) -> list[Edges]:
    """The sides, those with a band beside them placed by both its steps."""
    corners = fit.corners_px
    panel = Panel.from_corners(*size_mm, fit.lens, corners)
    slants, scale = rounding(panel, depth_mm).slant, px_per_mm_across(panel)
    found = []
    for i, edges in enumerate(sides):
        bands = bands_beside(float(slants[i]), float(scale[i]), depth_mm, follows[i] is not None)
        banded = None
        if bands:
            side, light = read_edge_strip(photo.rgb, corners[i], corners[(i + 1) % 4], fit.lens, unit)
            banded = with_band(edges, side, light, bands, unit, blurs[i])
        found.append(banded or edges)
    return found


def _at_inner_edges(
    photo: Photo,
    fit: ShapeFit,
    sides: list[Edges],
    blurs: list[float],
    camera: KnownCamera,
    size_mm: tuple[float, float],
    depth_mm: float | None,
    unit: float,
) -> tuple[list[Edges], ShapeFit]:
    """Sides and fit, sides that were found at the foot of their side face moved to the edge of the face.

    Where they lie then must suit the shape at least as well, and the thickness, as far as it is told.
    """
    panel = Panel.from_corners(*size_mm, fit.lens, fit.corners_px)
    slants, scale = rounding(panel, depth_mm).slant, px_per_mm_across(panel)
    inner = inner_edges(photo.rgb, fit.corners_px, fit.lens, slants, scale, depth_mm, unit, blurs)
    for i, edges in enumerate(inner):
        if edges is None or not shows(edges):
            continue
        moved = [edges if k == i else side for k, side in enumerate(sides)]
        within = fit_shape(moved, fit.corners_px, camera._replace(start=fit.lens), *size_mm, PASSES[-1][1] * unit)
        if _suits(within, fit, i, camera, size_mm, depth_mm):
            sides, fit = moved, within
    return sides, fit


def _suits(
    within: ShapeFit, fit: ShapeFit, i: int, camera: KnownCamera, size_mm: tuple[float, float], depth_mm: float | None
) -> bool:
    """Whether the face of a panel may end along side `i` of a fit that lies within another one there."""
    panel = Panel.from_corners(*size_mm, within.lens, within.corners_px)
    slant, scale = float(rounding(panel, depth_mm).slant[i]), px_per_mm_across(panel)
    outer = panel.to_panel(np.stack([fit.corners_px[i], fit.corners_px[(i + 1) % 4]]))
    width = abs(float(outer.mean(0)[(i + 1) % 2])) - size_mm[(i + 1) % 2] / 2
    depths = DEPTHS_MM if depth_mm is None else (depth_mm, depth_mm)
    if not (slant - SLACK) * depths[0] < width < (slant + SLACK) * depths[1]:
        return False
    sd = CORNER_MM * float(scale.mean())
    before, after = (shape_chi2(f.corners_px, f.lens, camera, size_mm, sd) for f in (fit, within))
    return after < max(before, 1.0) + (0.0 if depth_mm is None else AS_TOLD)


def _finish(
    fit: ShapeFit,
    sides: list[Edges],
    camera: KnownCamera,
    size_mm: tuple[float, float],
    depth_mm: float | None,
    size_px: float,
) -> SideFit:
    """Allow for the rounded edges and put the covariance together."""
    seen = Panel.from_corners(*size_mm, fit.lens, fit.corners_px)
    outshines, scale = [s.outshines for s in sides], px_per_mm_across(seen)
    edge, allowed = rounding(seen, depth_mm, outshines), _allowed_bow(depth_mm)
    shifts = np.where([s.banded for s in sides], 0.0, edge.shift_mm * scale)
    true = [s.moved(-shift) for s, shift in zip(sides, shifts, strict=True)]
    scale_px = PASSES[-1][1] * max(1.0, size_px / 4032)
    fit = fit_shape(true, fit.corners_px, camera._replace(start=fit.lens), *size_mm, scale_px, allowed)
    panel = Panel.from_corners(*size_mm, fit.lens, fit.corners_px)
    strength = np.array([median(s.sureness) for s in sides])
    has_step = np.array([shows(s) for s in sides])
    residual = np.array([1.48 * median(np.abs(r)) for r in fit.residuals])
    uneven = unevenness(fit, true)
    covariance = map_covariance(fit, true, uneven, has_step, panel, edge, scale, size_px)
    chi2 = shape_chi2(fit.corners_px, fit.lens, camera, size_mm, CORNER_MM * float(scale.mean()))
    makes = [(make, rounding(seen, depth_mm, outshines, make.deep)) for make in makes_of(depth_mm)]
    shown = Sides(Seen(fit, allowed, true, uneven, has_step, panel, edge, scale, size_px), makes)
    kinds = told_apart(*shown)
    return SideFit(fit.corners_px, fit.lens, covariance, strength, residual, has_step, chi2, kinds, sides=shown)


def _allowed_bow(depth_mm: float | None) -> Bow:
    """How far the fit lets the sides of a panel this thick bow."""
    if depth_mm is None:
        return UNKNOWN
    return DEEP if depth_mm >= DEEP_MM else STRAIGHT


def _search(
    photo: Photo,
    start: Floats,
    camera: KnownCamera,
    size_mm: tuple[float, float],
    reach: float,
    unit: float,
    known_bend: bool,
) -> "_Found":
    """The best tracks of the four sides under the bend that suits all of them."""
    bends: Floats = np.zeros(1) if known_bend else BENDS
    lens = camera.lens
    ends = [(start[i], start[(i + 1) % 4]) for i in range(4)]
    strips = [coarse_strip(photo.rgb, pair, lens, reach, unit, bends) for pair in ends]
    tables = [track_strengths(strip, reach) for strip in strips]
    best = int(np.sum([table[2].max(axis=(1, 2)) for table in tables], axis=0).argmax())
    bent = replace(lens, k1=lens.k1 + bends[best])
    bows = [s.bows_px[best] for s in strips]
    candidates = [pick_tracks(s, o, b, v[best], bow) for s, (o, b, v), bow in zip(strips, tables, bows, strict=True)]
    tracks = choose_tracks(ends, strips, candidates, bows, camera, bent, size_mm, reach, unit)
    following = [next_outside(t, c, unit) for t, c in zip(tracks, candidates, strict=True)]
    passed_over = tuple(
        any(c.strength > track.strength for c in others) for track, others in zip(tracks, candidates, strict=True)
    )
    return _Found(crossings(ends, tracks, bent), bent, following, passed_over)


class _Found(NamedTuple):
    """What the coarse search hands on: `next_px` tells for each side how far outside another strong edge follows,
    `passed_over` whether a stronger track was not taken."""

    corners_px: Floats
    lens: Lens
    next_px: list[Floats | None]
    passed_over: tuple[bool, ...]


def _moved(corners_px: Floats, start_px: Floats) -> float:
    """The furthest that a corner lies from where the search began, along x or y."""
    return float(np.abs(corners_px - start_px).max())
