"""The silhouette: which pixels of a fine window belong to what lies on the panel."""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from aligncheck.centrepiece.core import NEAR_MM, STROKE_MM, disc, grown, largest_near, opened
from aligncheck.centrepiece.cut import cut, holds
from aligncheck.centrepiece.lines import line_mask
from aligncheck.centrepiece.tell import SHADED_WEIGHT, SHADES, colour_bins, frequencies
from aligncheck.centrepiece.whiskers import without_whiskers
from aligncheck.centrepiece.window import Mask, Singles, Window, shaded_distance
from aligncheck.geometry.small import median
from aligncheck.marks import Marks

#: Blur before colours are told apart, mm: takes the grain of weave and chalk, leaves tips.
BLUR_MM = 0.14
#: Colours are learnt this far inside and outside the last guess, mm: the edge itself and its shadow teach nothing.
INSIDE_MM, OUTSIDE_MM = 1.0, 2.0
#: Natural logarithm of odds that counts as certain.
SURE = 3.0
#: On a line, odds between these say nothing: chalk is any mixture of its colour and the panel's.
LINE_PIECE, LINE_PANEL, LINE_NEUTRAL = -3.0, 1.0, 0.08
#: What lies beside a line this far (sd, mm) tells what lies on it, where it is one thing on both sides (shares of the
#: surroundings that are piece), and what that is worth as evidence.
BESIDE_MM, BOTH, BESIDE = 1.5, (0.15, 0.85), 0.3
#: Price of a boundary against evidence, per pixel of length.
STRENGTH = 1.3
#: The picture's own step from pixel to pixel that is no edge: times the panel's noise, and at least.
STEP_TIMES, LEAST_STEP = 2.5, 0.0175
#: A cut into the piece narrower than this, mm, and of so much area, mm^2 (more than the corner between two petals has).
SLIT_MM, SLIT_MM2 = 1.2, 1.5
#: Learning and cutting once more with what the first cut taught.
TIMES = 2


def silhouette(
    window: Window, guess: Mask, marks: Marks, unlike: float, darkest: float, more: Sequence[Singles] = ()
) -> tuple[Mask, Mask]:
    """Pixels of the main piece, holes filled, and those that strokes may lie on.

    Parameters
    ----------
    window : Window
    guess : ndarray (h, w) of bool
        The core.
    marks : Marks
        Known lines; other strokes are known by being thin.
    unlike, darkest : float
        From which distance on a colour is not the panel's; the darkest shade that counts as shadow.
    more : sequence of ndarray (h, w)
        Evidence from elsewhere: a photo of the bare panel, lines seen and hidden.
    """
    soft = replace(window, colours=blurred(window.colours, BLUR_MM * window.px_per_mm))
    distance = shaded_distance(window, darkest)[0]
    unlike_here = distance > unlike
    strokes = unlike_here & ~opened(unlike_here, window.px_per_mm, STROKE_MM)
    known = line_mask(window, marks)
    on = known | (strokes & ~grown(guess, window.px_per_mm, BLUR_MM * 4))
    bins = colour_bins(soft)
    noise = median(distance[~(guess | on)]) if not (guess | on).all() else 0.0
    hold = holds(blurred(window.colours, 0.7), max(LEAST_STEP, STEP_TIMES * noise))
    near = np.exp(-0.5 * (window.radius_mm(marks.centre.xy_mm) / NEAR_MM) ** 2)
    for _ in range(TIMES):
        evidence = _evidence(soft, bins, guess, on)
        for other in more:
            evidence = np.clip(evidence + other, -1, 1)
        found = largest_near(cut(evidence, hold, STRENGTH, guess) > 0.5, near * guess)
        if found is None:
            break
        guess = filled(found)
    whole = filled(without_slits(guess, window.px_per_mm))
    return without_whiskers(whole, window.colours, known, window.px_per_mm), on


def _evidence(soft: Window, bins: np.ndarray, guess: Mask, on: Mask) -> Singles:
    """Evidence (h, w) from -1, surely piece, to 1, surely panel or chalk."""
    inner = grown(guess, soft.px_per_mm, -INSIDE_MM)
    outside = ~grown(guess, soft.px_per_mm, OUTSIDE_MM)
    piece = frequencies(bins[inner if inner.any() else guess])
    bare = _bare(soft, bins, outside & ~on)
    chalk = frequencies(bins[outside & on]) if (outside & on).any() else bare
    beside = np.clip(np.log(bare / piece) / SURE, -1, 1)
    odds = np.log((0.9 * chalk + 0.1 * bare) / piece)
    upon = np.where(odds > LINE_PANEL, np.minimum((odds - LINE_PANEL) / SURE, 1) + LINE_NEUTRAL, LINE_NEUTRAL)
    upon = np.where(odds < LINE_PIECE, np.maximum((odds - LINE_PIECE) / SURE, -1), upon)
    return np.where(on, upon[bins] + _beside_lines(soft, guess, on), beside[bins]).astype(np.float32)


def _beside_lines(soft: Window, guess: Mask, on: Mask) -> Singles:
    """Evidence (h, w) for pixels on lines from what lies to both sides of the line: piece, panel, or each on one."""
    sd = BESIDE_MM * soft.px_per_mm
    off = (~on).astype(np.float32)
    piece = cv2.GaussianBlur(off * guess, (0, 0), sd)
    # The small term leaves open what lies where lines run together and hardly anything is beside them.
    share = (piece + 0.01) / (cv2.GaussianBlur(off, (0, 0), sd) + 0.02)
    return np.asarray(BESIDE * ((share < BOTH[0]).astype(np.float32) - (share > BOTH[1])), np.float32)


def _bare(soft: Window, bins: np.ndarray, off: Mask) -> Singles:
    """How often colours occur on the bare panel, its shadows among them."""
    seen = frequencies(bins[off])
    colours, bare = soft.colours[off][::3], soft.bare[off][::3]
    samples = Window(colours[None], bare[None], soft.px_per_mm, soft.origin_px)
    shaded = frequencies(np.concatenate([colour_bins(samples, shade)[0] for shade in SHADES]))
    return (1 - SHADED_WEIGHT) * seen + SHADED_WEIGHT * shaded


def blurred(colours: Singles, sd_px: float) -> Singles:
    """Gaussian mean of colours (h, w, 3)."""
    return np.asarray(cv2.GaussianBlur(colours, (0, 0), sd_px), np.float32)


def without_slits(mask: Mask, px_per_mm: float) -> Mask:
    """`mask` with its narrow deep cuts closed: the shade of one layer of the piece on the next, not its edge."""
    kernel = disc(SLIT_MM * px_per_mm)
    # Room beyond the border, or what touches it would be closed onto it.
    room = kernel.shape[0]
    wide = cv2.copyMakeBorder(mask.astype(np.uint8), room, room, room, room, cv2.BORDER_CONSTANT, value=[0])
    closed = cv2.morphologyEx(wide, cv2.MORPH_CLOSE, kernel)[room:-room, room:-room] > 0
    _, labels, stats, _ = cv2.connectedComponentsWithStats((closed & ~mask).astype(np.uint8), connectivity=8)
    slits = stats[:, cv2.CC_STAT_AREA] >= SLIT_MM2 * px_per_mm**2
    slits[0] = False
    return np.asarray(mask | slits[labels], bool)


def filled(mask: Mask) -> Mask:
    """`mask` without holes."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return cv2.drawContours(np.zeros(mask.shape, np.uint8), contours, -1, 1, -1) > 0
