"""One segment that all segments agree on, and what each of them has otherwise."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import fit_ground
from aligncheck.marks import Line
from aligncheck.panel import Panel
from aligncheck.rows.view import ColourView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Steps of the unrolled picture outward and round, mm, and where it begins.
STEP_MM, INNERMOST_MM = 1.0, 5.0
#: A hand strays this far without being at fault: a place is compared with all of the consensus so near, mm.
STRAY_MM = 1.5
#: Lightness counts less than hue: what light does to a dome's shade is not paint.
LIGHTNESS_WEIGHT = 0.6
#: Departures are counted beyond so many of the place's own usual ones, and beyond what an eye can just see.
USUAL, JUST_SEEN = 2.5, 4.0
#: From this share of full white in a channel's cube root on a pixel may be blown out.
BLOWN = 0.985
#: A place is painted or drawn where it is this unlike the bare panel (CIELAB).
UNLIKE_BARE = 8.0
#: The design ends where less than this share of a circle is drawn on.
DRAWN_SHARE = 0.02
#: A segment that shows less than this share of what the others show is not finished.
FINISHED_SHARE = 0.5


@dataclass(frozen=True)
class Segments:
    """All segments unrolled.

    Attributes
    ----------
    lab : ndarray (radii, segments, columns, 3)
        CIELAB of the evenly lit panel.
    consensus : ndarray (radii, columns, 3)
        Median of the finished segments.
    painted : ndarray (radii, columns) of bool
        Where the consensus is unlike the bare panel.
    unlike : ndarray (radii, segments, columns)
        Distance from the consensus beyond noise and alignment.
    finished : ndarray (segments,) of bool
    columns_deg : float
        Degrees between columns.
    """

    lab: Singles
    consensus: Singles
    painted: Mask
    unlike: Singles
    finished: Mask
    columns_deg: float

    @property
    def radii_mm(self) -> Floats:
        """Radius of every row."""
        return np.asarray(INNERMOST_MM + STEP_MM * np.arange(len(self.lab)), float)


def unroll(view: ColourView, panel: Panel, centre_mm: Floats, order: int, outermost_mm: float) -> Segments:
    """Lay the segments beside each other, evenly lit, and compare them."""
    radii = np.arange(INNERMOST_MM, outermost_mm, STEP_MM)
    columns = int(np.clip(np.ceil(2 * np.pi * outermost_mm / order / STEP_MM), 8, 720))
    angles = (np.arange(order * columns) + 0.5) * (2 * np.pi / (order * columns))
    points = radii[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    place = (points * view.px_per_mm + view.origin_px).astype(np.float32)
    soft = cv2.GaussianBlur(view.colours, (0, 0), 0.5 * view.px_per_mm)
    seen = cv2.remap(soft, place[..., 0], place[..., 1], cv2.INTER_LINEAR)
    ground = fit_ground(view.colours, view.px_per_mm, (panel.width_mm / 2, panel.height_mm / 2))
    bare = np.maximum(ground.at(points), 0.03).astype(np.float32)
    # A shadow or a lamp to one side is a factor, the same for paint and panel.
    mean = bare.reshape(-1, 3).mean(0)
    lab = lab_of(seen * (mean / bare)).reshape(len(radii), order, columns, 3)
    blown = (seen.max(-1) > BLOWN).reshape(len(radii), order, columns)
    bare_lab = lab_of(mean.reshape(1, 1, 3))[0, 0]
    consensus = np.median(lab, axis=1).astype(np.float32)
    painted = _distance(consensus, bare_lab) > UNLIKE_BARE
    here = _distance(lab, bare_lab) > UNLIKE_BARE / 2
    share = (here & painted[:, None]).sum((0, 2)) / max(int(painted.sum()), 1)
    finished = share > FINISHED_SHARE * np.median(share)
    if 2 < finished.sum() < order:
        consensus = np.median(lab[:, finished], axis=1).astype(np.float32)
        painted = _distance(consensus, bare_lab) > UNLIKE_BARE
    distance = _nearest(lab, consensus, radii, 360.0 / (order * columns))
    distance[blown] = 0
    usual = np.median(distance[:, finished], axis=1, keepdims=True) if finished.any() else 0.0
    unlike = np.maximum(distance - USUAL * usual - JUST_SEEN, 0) * finished[None, :, None]
    return Segments(lab, consensus, painted, unlike.astype(np.float32), finished, 360.0 / (order * columns))


def without_lines(segments: Segments, centre_mm: Floats, lines: Sequence[Line]) -> Segments:
    """The same with nothing unlike beside these lines, nor beyond the design."""
    radii, order, columns = segments.unlike.shape
    angles = np.radians((np.arange(order * columns) + 0.5) * segments.columns_deg)
    points = segments.radii_mm[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    kept = np.ones((radii, order * columns), bool)
    for line in lines:
        kept &= np.abs((points - line.inner_mm) @ line.across) > line.width_mm / 2 + STRAY_MM
    drawn = np.flatnonzero(segments.painted.mean(1) > DRAWN_SHARE)
    kept[int(drawn.max(initial=0)) + round(2 * STRAY_MM / STEP_MM) + 1 :] = False
    return replace(segments, unlike=segments.unlike * kept.reshape(radii, order, columns))


def lab_of(cube_roots: Singles) -> Singles:
    """CIELAB (h, w, 3) of cube-root colours (h, w, 3)."""
    linear = np.clip(cube_roots, 0, 1.2).astype(np.float32) ** 3
    codes = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(cv2.cvtColor(codes.astype(np.float32), cv2.COLOR_RGB2Lab), np.float32)


def _distance(one: Singles, other: Singles) -> Singles:
    return np.asarray(np.sqrt((((one - other) * (LIGHTNESS_WEIGHT, 1, 1)) ** 2).sum(-1)), np.float32)


def _nearest(lab: Singles, consensus: Singles, radii: Floats, columns_deg: float) -> Singles:
    """Distance (radii, segments, columns) to the most like place of the consensus within a hand's straying.

    The consensus repeats, so it is rolled round; how many columns are that near depends on the radius.
    """
    best = np.full(lab.shape[:3], np.inf, np.float32)
    arc = np.radians(columns_deg) * radii
    reach = np.minimum(np.ceil(STRAY_MM / arc), 8)
    steps = round(STRAY_MM / STEP_MM)
    for outward in range(-steps, steps + 1):
        rows = np.clip(np.arange(len(radii)) + outward, 0, len(radii) - 1)
        shifted = consensus[rows]
        for round_ in range(-int(reach.max()), int(reach.max()) + 1):
            near = np.hypot(outward * STEP_MM, round_ * arc) <= STRAY_MM + 1e-6
            if not near.any():
                continue
            there = np.roll(shifted[near], round_, axis=1)[:, None]
            best[near] = np.minimum(best[near], _distance(lab[near], there))
    return best
