"""One segment that all segments agree on, and what each of them has otherwise."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Line
from aligncheck.repeat.chalk import Chalk
from aligncheck.repeat.even import UNLIKE_BARE, even_light, median, unlike_colours
from aligncheck.repeat.mirror import Mirror, find_mirror
from aligncheck.repeat.straying import STRAY_MM, unlike_beyond_straying
from aligncheck.repeat.unrolled import INNERMOST_MM, STEP_MM, Unrolled
from aligncheck.repeat.zones import Zone

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Departures are counted beyond so many of the place's own usual ones, and beyond what an eye can just see (CIELAB;
#: Mahy, Van Eycken & Oosterlinck 1994).
USUAL, JUST_SEEN = 2.5, 2.3
#: Of fewer segments none can be told to be the odd one.
LEAST_COMPARED = 3
#: What is usual is averaged over so many steps: of few segments alone it is not known well.
USUAL_STEPS = 3
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
    bare : ndarray (radii, columns, 3)
        The bare panel.
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
    bare: Singles
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

    @property
    def end_mm(self) -> float:
        """Radius beyond which nothing of the design lies, a hand's straying included."""
        drawn = np.flatnonzero(self.painted.mean(1) > DRAWN_SHARE)
        return float(self.radii_mm[drawn.max(initial=0)]) + 2 * STRAY_MM


def compare(unrolled: Unrolled, chalk: Chalk | None = None) -> Segments:
    """Even the light, and compare the segments; `chalk`: what is drawn for the painting."""
    even = even_light(unrolled)
    lab, finished, columns_deg = even.lab, even.finished, unrolled.columns_deg
    judged = unrolled.shown & ~even.glare
    usable = judged & finished[:, None]
    # Of fewer segments that are seen none can be told to be the odd one.
    enough = usable.sum(1) >= LEAST_COMPARED
    judged = judged & enough[:, None]
    consensus = median(lab, usable)[:, 0]
    bare = median(even.bare_lab, usable)[:, 0]
    mirror = find_mirror(consensus, unrolled.radii_mm, columns_deg)
    one_sided = np.zeros(consensus.shape[:2], np.float32)
    if mirror.mirrored:
        whole, one_sided = _with_mirror(lab, consensus, usable, mirror, unrolled.radii_mm, columns_deg)
        one_sided = one_sided * (enough & mirror.reflected(enough))
        # What one flank of every segment has is told once, not as every segment's fault.
        consensus = np.where((one_sided > 0)[..., None], consensus, whole)
    # What cannot be judged is put as the others have it: then it is not unlike them, nor what lies beside it.
    chalk_only = (chalk or Chalk()).hidden(lab, even.bare_lab, consensus, unrolled.xy_mm)
    compared = np.where((usable & ~chalk_only)[..., None], lab, consensus[:, None])
    unlike = _unlike(compared, consensus, finished, unrolled.radii_mm, columns_deg) * (usable & enough[:, None])
    return Segments(
        lab=lab,
        consensus=consensus,
        bare=bare,
        painted=unlike_colours(consensus, bare) > UNLIKE_BARE,
        unlike=unlike.astype(np.float32),
        judged=judged,
        glare=even.glare & finished[:, None],
        finished=finished,
        columns_deg=columns_deg,
        mirror=mirror,
        one_sided=one_sided,
    )


def _unlike(lab: Singles, consensus: Singles, finished: Mask, radii: Floats, columns_deg: float) -> Singles:
    """Distance (radii, segments, columns) from the consensus beyond straying, what is usual and what is just seen."""
    rows, order, columns = lab.shape[:3]
    ring = lab.reshape(rows, order * columns, 3)
    distance = unlike_beyond_straying(ring, np.tile(consensus, (1, order, 1)), radii, columns_deg).reshape(
        lab.shape[:3]
    )
    if not finished.any():
        return np.zeros_like(distance)
    here = np.median(distance[:, finished], axis=1)
    wide = np.concatenate([here[:, -USUAL_STEPS:], here, here[:, :USUAL_STEPS]], axis=1)
    usual = cv2.blur(wide, (USUAL_STEPS, USUAL_STEPS))[:, USUAL_STEPS:-USUAL_STEPS]
    return np.maximum(distance - USUAL * usual[:, None] - JUST_SEEN, 0).astype(np.float32)


def without_lines(segments: Segments, centre_mm: Floats, lines: Sequence[Line]) -> Segments:
    """The same with nothing unlike beside these lines, nor beyond the design."""
    radii, order, columns = segments.unlike.shape
    angles = np.radians((np.arange(order * columns) + 0.5) * segments.columns_deg)
    points = segments.radii_mm[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    kept = np.ones((radii, order * columns), bool)
    for line in lines:
        kept &= np.abs((points - line.inner_mm) @ line.across) > line.width_mm / 2 + STRAY_MM
    kept[segments.radii_mm > segments.end_mm] = False
    one_sided = segments.one_sided * (segments.radii_mm <= segments.end_mm)[:, None]
    return replace(segments, unlike=segments.unlike * kept.reshape(radii, order, columns), one_sided=one_sided)


def without_zones(segments: Segments, zones: Sequence[Zone]) -> Segments:
    """The same with nothing judged where the design has another count."""
    radii = segments.radii_mm
    kept = np.ones(len(radii), bool)
    for zone in zones:
        kept &= (radii < zone.inner_mm) | (radii > zone.outer_mm)
    unlike, judged = segments.unlike * kept[:, None, None], segments.judged & kept[:, None, None]
    return replace(segments, unlike=unlike, judged=judged, one_sided=segments.one_sided * kept[:, None])


def _with_mirror(
    lab: Singles, consensus: Singles, usable: Mask, mirror: Mirror, radii: Floats, columns_deg: float
) -> tuple[Singles, Singles]:
    """Median (radii, columns, 3) of segments and mirror images, and how unlike its image the median of segments is."""
    rows, order, columns = usable.shape
    image = mirror.reflected(lab.reshape(rows, order * columns, 3)).reshape(lab.shape)
    image_usable = mirror.reflected(usable.reshape(rows, -1)).reshape(usable.shape)
    both = median(np.concatenate([lab, image], axis=1), np.concatenate([usable, image_usable], axis=1))[:, 0]
    own_image = mirror.reflected(consensus)
    apart = unlike_beyond_straying(consensus, own_image, radii, columns_deg)
    return both, np.maximum(apart - ONE_SIDED, 0).astype(np.float32)
