"""Points of the piece found in both photos, on flat views laid over each other by the outlines."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.plan import seen_at
from aligncheck.panel import Panel
from aligncheck.placement.turns import Floats, Motion

#: Scale of the views, px per mm; size of what is followed from one to the other, mm.
SCALE, PATCH_MM = 5.0, 6.0
#: Light differs from photo to photo: each view is freed of shades wider than this (sd, mm), its contrast made even.
EVEN_MM = 1.6
#: Points at most and their distance, mm; there and back must agree to this, mm.
MOST, APART_MM, BACK_MM = 400, 1.5, 0.08
#: A direction in which the picture changes by less than this share of the other one's, squared, is not followed at all:
#: there what follows it stays where it was put, and so do all its neighbours.
APERTURE = 0.3
Grey = NDArray[np.uint8]


@dataclass(frozen=True)
class Matches:
    """What of the piece is found in two photos.

    Attributes
    ----------
    at_mm, apart_mm : ndarray (n, 2)
        Places on the earlier plan, and how far each seems displaced after the motion.
    index : ndarray (n,)
        Numbers of the places in the earlier view: the same in all photos that it is compared with.
    sharp : ndarray (n, 2, 2)
        How sharply a displacement shows, by direction, 0 to 1: along the grain of wood hardly at all.
    """

    at_mm: Floats
    apart_mm: Floats
    index: NDArray[np.int_]
    sharp: Floats

    def only(self, keep: NDArray[np.bool_]) -> "Matches":
        """The kept ones (n,) alone."""
        return Matches(self.at_mm[keep], self.apart_mm[keep], self.index[keep], self.sharp[keep])

    def turned(self, turn: Floats) -> "Matches":
        """With displacements turned by a matrix (2, 2)."""
        return replace(self, apart_mm=self.apart_mm @ turn.T, sharp=turn @ self.sharp @ turn.T)


NO_MATCHES = Matches(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, int), np.zeros((0, 2, 2)))


@dataclass(frozen=True)
class Look:
    """One photo of the piece: grey pixels, the map from panel mm to them, the camera, all in the common frame."""

    grey: Grey
    to_photo: Callable[[Floats], Floats]
    camera_mm: Floats


def look_of(grey: Grey, panel: Panel, turn: Floats) -> Look:
    """A photo whose panel frame becomes the common one by the matrix `turn` (2, 2)."""
    camera = panel.camera_position_mm.copy()
    camera[:2] = turn @ camera[:2]

    def to_photo(points_mm: Floats) -> Floats:
        return panel.to_photo(np.asarray(points_mm, float) @ turn)

    return Look(grey, to_photo, camera)


class Views:
    """Both photos' flat views of the plan at one height, the present one moved back by `motion`."""

    def __init__(self, earlier: Look, now: Look, outline: Floats, motion: Motion, height_mm: float):
        self._low = outline.min(0) - 2.0
        size = np.ceil((outline.max(0) + 2.0 - self._low) * SCALE).astype(int)
        ys, xs = np.mgrid[0 : size[1], 0 : size[0]]
        plan = np.stack([xs, ys], -1) / SCALE + self._low
        mask = np.zeros((size[1], size[0]), np.uint8)
        cv2.fillPoly(mask, [np.rint((outline - self._low) * SCALE).astype(np.int32)], 1)
        # Away from the rim: there the panel behind it goes with the other side.
        self.inside = np.asarray(cv2.erode(mask, np.ones((9, 9), np.uint8)), np.uint8)
        self.first = _even(_sampled(earlier, plan, height_mm), self.inside)
        self.second = _even(_sampled(now, motion(plan), height_mm), self.inside)

    def matches(self) -> Matches:
        """Follow points from the earlier view to the present one and back."""
        corners: Any = cv2.goodFeaturesToTrack(self.first, MOST, 0.02, APART_MM * SCALE, mask=self.inside, blockSize=7)
        if corners is None:
            return NO_MATCHES
        patch = round(PATCH_MM * SCALE) | 1
        how: Any = {"winSize": (patch, patch), "maxLevel": 2}
        start = np.asarray(corners, np.float32)
        follow: Any = cv2.calcOpticalFlowPyrLK
        there, good, _ = follow(self.first, self.second, start, None, **how)
        back, good2, _ = follow(self.second, self.first, there, None, **how)
        sharp = _sharpness(self.first, start[:, 0], patch)
        returned = np.einsum("nij,nj->ni", sharp, (back - start)[:, 0])
        keep = (good.ravel() > 0) & (good2.ravel() > 0) & (np.hypot(*returned.T) < BACK_MM * SCALE)
        at = start[:, 0].astype(float) / SCALE + self._low
        apart = (there - start)[:, 0].astype(float) / SCALE
        return Matches(at, apart, np.arange(len(at)), sharp).only(keep)


def _sharpness(grey: Grey, pixels: NDArray[np.float32], patch: int) -> Floats:
    """Square root (n, 2, 2) of each patch's structure tensor over its larger eigenvalue (Shi & Tomasi 1994)."""
    dx, dy = cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1)
    size = (patch, patch)
    columns, rows = np.rint(pixels).astype(int).T
    xx, xy, yy = (cv2.boxFilter(p, -1, size)[rows, columns].astype(float) for p in (dx * dx, dx * dy, dy * dy))
    values, vectors = np.linalg.eigh(np.stack([xx, xy, xy, yy], axis=1).reshape(-1, 2, 2))
    share = np.maximum(values, 0) / np.maximum(values[:, 1:], 1e-9)
    root = np.sqrt(np.where(share < APERTURE, 0.0, share))
    return np.asarray(np.einsum("nij,nj,nkj->nik", vectors, root, vectors), float)


def _sampled(look: Look, plan: Floats, height_mm: float) -> NDArray[np.float32]:
    """Grey values at plan points (h, w, 2) that stand `height_mm` above the panel."""
    coarse = plan[::8, ::8]
    nodes = look.to_photo(seen_at(coarse, look.camera_mm, height_mm)).astype(np.float32)
    h, w = plan.shape[:2]
    # Bilinear between every eighth pixel, as for the flat view: exact to a hundredth of a pixel.
    y, x = np.mgrid[0:h, 0:w].astype(np.float32) / 8
    at = cv2.remap(nodes, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = cv2.remap(look.grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR)
    return np.asarray(seen, np.float32)


def _even(grey: NDArray[np.float32], inside: Grey) -> Grey:
    """Free a view of wide shades and bring it to equal contrast; grey is code value, roughly as the eye sees."""
    sd = EVEN_MM * SCALE
    weight = inside.astype(np.float32)
    share = cv2.GaussianBlur(weight, (0, 0), sd) + 1e-3
    mean = cv2.GaussianBlur(grey * weight, (0, 0), sd) / share
    rest = (grey - mean) * weight
    spread = np.sqrt(cv2.GaussianBlur(rest * rest, (0, 0), 2 * sd) / share) + 2.0
    return np.asarray(np.clip(128 + 40 * rest / spread, 0, 255), np.uint8)
