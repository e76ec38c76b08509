"""One segment that all segments agree on, and what each of them has otherwise."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Line
from aligncheck.repeat.even import UNLIKE_BARE, even_light, median, unlike_colours
from aligncheck.repeat.mirror import Mirror, find_mirror
from aligncheck.repeat.unrolled import INNERMOST_MM, STEP_MM, Unrolled

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: A hand strays this far without being at fault: a place is compared with all of the consensus so near, mm.
STRAY_MM = 1.5
#: Departures are counted beyond so many of the place's own usual ones, and beyond what an eye can just see.
USUAL, JUST_SEEN = 2.5, 4.0
#: The design ends where less than this share of a circle is drawn on.
DRAWN_SHARE = 0.02
#: Paint that only one flank of every segment has: this much unlike the other flank's.
ONE_SIDED = 10.0


@dataclass(frozen=True)
class Segments:
    """All segments, evenly lit and compared.

    Attributes
    ----------
    lab : ndarray (radii, segments, columns, 3)
        CIELAB, light evened out.
    consensus : ndarray (radii, columns, 3)
        Median of the finished segments, and of their mirror images where the design is mirrored.
    painted : ndarray (radii, columns) of bool
        Where the consensus is unlike the bare panel.
    unlike : ndarray (radii, segments, columns)
        Distance from the consensus beyond noise and alignment.
    judged, glare : ndarray (radii, segments, columns) of bool
        Where a segment can be compared, and where light hides what the others show there; a piece may hide it too.
    finished : ndarray (segments,) of bool
    columns_deg : float
        Degrees between columns.
    mirror : Mirror
    one_sided : ndarray (radii, columns)
        How unlike its own mirror image the segments' median is, beyond alignment; zero where nothing is mirrored.
    """

    lab: Singles
    consensus: Singles
    painted: Mask
    unlike: Singles
    judged: Mask
    glare: Mask
    finished: Mask
    columns_deg: float
    mirror: Mirror
    one_sided: Singles

    @property
    def radii_mm(self) -> Floats:
        """Radius of every row."""
        return np.asarray(INNERMOST_MM + STEP_MM * np.arange(len(self.lab)), float)


def compare(unrolled: Unrolled) -> Segments:
    """Even the light, and compare the segments."""
    even = even_light(unrolled)
    lab, finished, columns_deg = even.lab, even.finished, unrolled.columns_deg
    judged = unrolled.shown & ~even.glare
    usable = judged & finished[:, None]
    consensus = median(lab, usable)[:, 0]
    bare = median(even.bare_lab, usable)[:, 0]
    mirror = find_mirror(consensus, unrolled.radii_mm, columns_deg)
    one_sided = np.zeros(consensus.shape[:2], np.float32)
    if mirror.mirrored:
        whole, one_sided = _with_mirror(lab, consensus, usable, mirror, unrolled.radii_mm, columns_deg)
        # What one flank of every segment has is told once, not as every segment's fault.
        consensus = np.where((one_sided > 0)[..., None], consensus, whole)
    distance = np.where(judged, _nearest(lab, consensus, unrolled.radii_mm, columns_deg), 0).astype(np.float32)
    usual = np.median(distance[:, finished], axis=1, keepdims=True) if finished.any() else 0.0
    unlike = np.maximum(distance - USUAL * usual - JUST_SEEN, 0) * finished[None, :, None]
    return Segments(
        lab=lab,
        consensus=consensus,
        painted=unlike_colours(consensus, bare) > UNLIKE_BARE,
        unlike=unlike.astype(np.float32),
        judged=judged,
        glare=even.glare & finished[:, None],
        finished=finished,
        columns_deg=columns_deg,
        mirror=mirror,
        one_sided=one_sided,
    )


def without_lines(segments: Segments, centre_mm: Floats, lines: Sequence[Line]) -> Segments:
    """The same with nothing unlike beside these lines, nor beyond the design."""
    radii, order, columns = segments.unlike.shape
    angles = np.radians((np.arange(order * columns) + 0.5) * segments.columns_deg)
    points = segments.radii_mm[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    kept = np.ones((radii, order * columns), bool)
    for line in lines:
        kept &= np.abs((points - line.inner_mm) @ line.across) > line.width_mm / 2 + STRAY_MM
    drawn = np.flatnonzero(segments.painted.mean(1) > DRAWN_SHARE)
    end = int(drawn.max(initial=0)) + round(2 * STRAY_MM / STEP_MM) + 1
    kept[end:] = False
    one_sided = segments.one_sided.copy()
    one_sided[end:] = 0
    return replace(segments, unlike=segments.unlike * kept.reshape(radii, order, columns), one_sided=one_sided)


def _with_mirror(
    lab: Singles, consensus: Singles, usable: Mask, mirror: Mirror, radii: Floats, columns_deg: float
) -> tuple[Singles, Singles]:
    """Median (radii, columns, 3) of segments and mirror images, and how unlike its image the median of segments is."""
    rows, order, columns = usable.shape
    image = mirror.reflected(lab.reshape(rows, order * columns, 3)).reshape(lab.shape)
    image_usable = mirror.reflected(usable.reshape(rows, -1)).reshape(usable.shape)
    both = median(np.concatenate([lab, image], axis=1), np.concatenate([usable, image_usable], axis=1))[:, 0]
    own_image = mirror.reflected(consensus)
    apart = _nearest(consensus[:, None], own_image, radii, columns_deg)[:, 0]
    return both, np.maximum(apart - ONE_SIDED, 0).astype(np.float32)


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
            best[near] = np.minimum(best[near], unlike_colours(lab[near], there))
    return best
