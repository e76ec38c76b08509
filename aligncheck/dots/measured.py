"""Circles with what tells a dot from chalk, a highlight or chance."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import colours_inside, contrast_inside, figure
from aligncheck.dots.rims import Rims
from aligncheck.dots.view import DotView
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]

#: Rays of the last look at a rim.
RAYS = 48


@dataclass(frozen=True)
class Measured:
    """Circles on the panel, all arrays (n, ...).

    Attributes
    ----------
    xy_mm : ndarray (n, 2)
        From the centre that the design turns about.
    radius_mm : ndarray (n,)
    colour : ndarray (n, 3)
        Median inside, less the bare panel's, in luma and colour differences.
    contrast : ndarray (n,)
        Median distance from the bare panel, in units of its noise.
    figure : ndarray (n,)
        How much more painted the rim is inside than outside, 0 to 1.
    roughness : ndarray (n,)
        Scatter of the rim about the circle, 1 for a rim as rough as a hand and a pixel make it at most.
    radius_sd_mm : ndarray (n,)
        Own standard deviation of each radius, without what is common to all dots of a kind.
    rims : Rims
        The circles in the view.
    """

    xy_mm: Floats
    radius_mm: Floats
    colour: Floats
    contrast: Floats
    figure: Floats
    roughness: Floats
    radius_sd_mm: Floats
    rims: Rims

    def __len__(self) -> int:
        return len(self.radius_mm)

    @property
    def coverage(self) -> Floats:
        """Share of the rim that was seen."""
        return self.rims.coverage

    @property
    def quality(self) -> Floats:
        """How much each looks like a dot by itself, about 0 to 1."""
        return np.asarray(self.coverage * np.sqrt(0.1 + self.figure), float)

    def take(self, which: NDArray[np.generic]) -> "Measured":
        """Those at `which` (indices or mask)."""
        names = ("xy_mm", "radius_mm", "colour", "contrast", "figure", "roughness", "radius_sd_mm")
        return replace(self, **{k: getattr(self, k)[which] for k in names}, rims=self.rims.take(which))

    def joined(self, other: "Measured") -> "Measured":
        """These and the `other` ones."""
        names = ("xy_mm", "radius_mm", "colour", "contrast", "figure", "roughness", "radius_sd_mm")
        both = {k: np.concatenate([getattr(self, k), getattr(other, k)]) for k in names}
        return replace(self, **both, rims=self.rims.joined(other.rims))

    def about(self, centre_mm: Floats) -> "Measured":
        """The same with places from another centre, which lies at `centre_mm` (2,) from the one they had."""
        return replace(self, xy_mm=self.xy_mm - centre_mm)


def measured(view: DotView, rims: Rims, centre_mm: Floats) -> Measured:
    """Look at each circle of `rims` in the view."""
    looks = (colours_inside, contrast_inside, figure)
    colour, contrast, edge = all_at_once(lambda look: look(view, rims), looks)
    return Measured(
        xy_mm=view.to_panel(np.column_stack([rims.x, rims.y])) - centre_mm,
        radius_mm=rims.r / view.px_per_mm,
        colour=colour,
        contrast=contrast,
        figure=edge,
        # A pixel's own noise is a third of one; a hand's dots are out of round by 2 % of the radius.
        roughness=rims.noise_px / (0.33 + 0.02 * rims.r),
        radius_sd_mm=rims.noise_px / view.px_per_mm / np.sqrt(np.maximum(RAYS * rims.coverage, 4) / 3),
        rims=rims,
    )
