"""The segments with their light evened out, and what of them cannot be judged: glare, and what is not finished."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import lab_of
from aligncheck.geometry.channels import lengths
from aligncheck.repeat.light import light_of, shade_of, terms_of
from aligncheck.repeat.unrolled import STEP_MM, Unrolled

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Rounds in which light, glare and consensus sharpen one another.
ROUNDS = 3
#: Lightness counts less than hue: what light does to a dome's shade is not paint.
LIGHTNESS_WEIGHT = 0.6
#: A place is painted or drawn where it is this unlike the bare panel (CIELAB).
UNLIKE_BARE = 8.0
#: A segment that shows less than this share of what the others show is not finished.
FINISHED_SHARE = 0.5
#: Where the median segment shows less than this share of the paint that a quarter of all show, most are not begun.
#: Those begun must be so many, and painted over so much.
BARE_SHARE, MOST_PAINTED, LEAST_BEGUN, LEAST_PAINTED = 0.25, 0.75, 3, 0.01
#: A segment of which less than this share of the painting is seen cannot be told to be unfinished.
HIDDEN_SHARE = 0.3
#: Glare lightens all within so many mm by this much on the average (CIELAB), paint and panel alike; or it is white.
GLARE_MM, GLARE, FADED = 5.0, 9.0, 0.03
#: And over at least so much of the panel.
LEAST_GLARE_MM2 = 500.0


@dataclass(frozen=True)
class EvenLight:
    """CIELAB (radii, segments, columns, 3) of segments and bare panel in even light; which are finished; glare."""

    lab: Singles
    bare_lab: Singles
    finished: Mask
    glare: Mask


def even_light(unrolled: Unrolled) -> EvenLight:
    """Even the light by what the segments agree on."""
    linear, bare = unrolled.linear, unrolled.bare
    glare = np.zeros(linear.shape[:3], bool)
    even, lab, bare_lab = linear, _lab(linear), _lab(bare)
    begun = _begun(lab, bare_lab, unrolled.shown)
    finished = begun
    terms = terms_of(unrolled.xy_mm)
    arc_mm = np.radians(unrolled.columns_deg) * unrolled.radii_mm
    cell = arc_mm * STEP_MM
    for number in range(ROUNDS):
        usable = unrolled.shown & ~glare & finished[:, None]
        factor, veil = light_of(linear, median(even, usable), terms, usable)
        even, even_bare = (np.maximum((one - veil) / factor, 1e-4) for one in (linear, bare))
        shade = shade_of(even, median(even, usable), usable, arc_mm)[..., None]
        even, even_bare = even / shade, even_bare / shade
        lab, bare_lab = _lab(even), _lab(even_bare)
        finished = _finished(lab, bare_lab, unrolled.shown & ~glare, begun)
        glare = _glare(lab, median(lab, usable)[:, 0], unrolled.blown, cell) & ~unrolled.covered
        if number == 1 and not glare.any():
            break
    return EvenLight(lab, bare_lab, finished, glare)


def median(values: Singles, usable: Mask) -> Singles:
    """Median (radii, 1, columns, 3) of the segments over what is usable; over all where nothing is."""
    usable = usable | ~usable.any(1, keepdims=True)
    # What is not usable is sorted to the end.
    ordered = np.sort(np.where(usable[..., None], values, np.float32(np.inf)), axis=1)
    count = usable.sum(1, keepdims=True)[..., None]
    low, high = (np.take_along_axis(ordered, k, axis=1) for k in ((count - 1) // 2, count // 2))
    return np.asarray((low + high) / 2, np.float32)


def unlike_colours(one: Singles, other: Singles) -> Singles:
    """Distance of colours (..., 3)."""
    return lengths((one - other) * np.array([LIGHTNESS_WEIGHT, 1, 1], np.float32))


def _begun(lab: Singles, bare_lab: Singles, shown: Mask) -> Mask:
    """Which segments are painted where most are not yet: all, unless a quarter show far more paint than most do.

    Only what is more colourful than the panel counts: glare and chalk are not.
    """
    colourful, bare = (np.hypot(one[..., 1], one[..., 2]) for one in (lab, bare_lab))
    more = colourful - bare > UNLIKE_BARE
    share = (more & shown).sum((0, 2)) / np.maximum(shown.sum((0, 2)), 1)
    most = float(np.quantile(share, MOST_PAINTED, method="higher"))
    begun = share >= FINISHED_SHARE * most
    few = most > LEAST_PAINTED and float(np.median(share)) < BARE_SHARE * most and begun.sum() >= LEAST_BEGUN
    return begun if few else np.ones_like(begun)


def _finished(lab: Singles, bare_lab: Singles, shown: Mask, begun: Mask) -> Mask:
    """Which segments show at least half of what the others show; one that is hidden is not held for unfinished."""
    seen_here = shown & begun[:, None]
    painted = unlike_colours(median(lab, seen_here), median(bare_lab, seen_here)) > UNLIKE_BARE
    here = (unlike_colours(lab, bare_lab) > UNLIKE_BARE / 2) & painted & shown
    seen = (painted & shown).sum((0, 2))
    share = here.sum((0, 2)) / np.maximum(seen, 1)
    hidden = seen < HIDDEN_SHARE * painted.sum()
    usual = share[~hidden & begun] if (~hidden & begun).any() else share
    return np.asarray((hidden & begun) | (share >= FINISHED_SHARE * np.median(usual)), bool)


def _glare(lab: Singles, consensus: Singles, blown: Mask, cell_mm2: Floats) -> Mask:
    """Where all is lighter than its like, paint and panel alike, or white where most segments are not.

    Highlights of single dots and heavy strokes are smaller than what counts.
    """
    more = lab[..., 0] - consensus[:, None, :, 0]
    white = blown & (blown.mean(1, keepdims=True) < 0.5)
    bright = (_spread(more) > GLARE) | (_spread(white.astype(np.float32)) > 0.5)
    rows, order, columns = bright.shape
    ring = bright.reshape(rows, order * columns)
    # Twice round, so that what lies across the first column is one.
    count, labels = cv2.connectedComponents(np.tile(ring, (1, 2)).astype(np.uint8))
    areas = np.bincount(labels.ravel(), np.tile(cell_mm2[:, None], (1, 2 * order * columns)).ravel(), count)
    areas[0] = 0
    large = (areas > LEAST_GLARE_MM2)[labels]
    found = (large[:, : order * columns] | large[:, order * columns :]).reshape(bright.shape)
    # It fades out over as much again.
    return _spread(found.astype(np.float32)) > FADED


def _spread(values: Singles) -> Singles:
    """Means (radii, segments, columns) over `GLARE_MM`, round the whole circle."""
    radii, order, columns = values.shape
    ring = values.reshape(radii, order * columns)
    pad = min(columns, ring.shape[1])
    wide = np.concatenate([ring[:, -pad:], ring, ring[:, :pad]], axis=1)
    smooth = cv2.GaussianBlur(wide, (0, 0), GLARE_MM / STEP_MM)[:, pad:-pad]
    return np.asarray(smooth.reshape(values.shape), np.float32)


def _lab(linear: Singles) -> Singles:
    """CIELAB (a, b, c, 3) of linear light."""
    a, b, c = linear.shape[:3]
    return lab_of(np.cbrt(linear.reshape(a, b * c, 3))).reshape(a, b, c, 3)
