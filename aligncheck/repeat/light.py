"""Light evened out by the painting itself: what a place of one segment shows against its like in the others."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.legendre import legendre
from aligncheck.repeat.smooth import smoothed

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Degree of the surfaces, rounds of fitting, and how many places are enough for it.
DEGREE, ROUNDS, MOST_PLACES = 3, 5, 6000
#: Shades that places are taken from alike.
SHADES = 6
#: Holds the surfaces to no change where the painting does not tell them.
STIFFNESS = 2e-3
#: A channel that is dark everywhere tells no factor: squares of its light count as this at least.
LEAST_STRENGTH = 1e-6
#: No light is less than this share of the usual.
LEAST_LIGHT = 0.15
#: A soft shadow changes over this much, mm; a place lighter or darker by this share is paint that strays.
SHADE_MM, ODD_SHADE = 10.0, 0.25


def light_of(linear: Singles, reference: Singles, terms: Singles, shown: Mask) -> tuple[Singles, Singles]:
    """Factor and veil that turn `reference` into what is seen: seen = factor · reference + veil.

    A lamp to one side multiplies, gloss and haze add; both change slowly across the panel. Paint does not, and what is
    painted otherwise is let go by its weight. Surfaces of degree 3 in x and y, by least squares in linear light.

    Parameters
    ----------
    linear : ndarray (radii, segments, columns, 3)
    reference : ndarray (radii, 1, columns, 3)
        What all segments agree on.
    terms : ndarray (radii, segments, columns, terms)
        `terms_of` the places in the panel frame.
    shown : ndarray (radii, segments, columns) of bool

    Returns
    -------
    factor, veil : ndarray (radii, segments, columns, 3)
    """
    count = terms.shape[-1]
    factor, veil = np.ones(linear.shape, np.float32), np.zeros(linear.shape, np.float32)
    places = np.flatnonzero(shown)
    if len(places) < 10 * count:
        return factor, veil
    like = np.broadcast_to(reference, linear.shape)
    places = _of_all_shades(places, like)
    t = terms.reshape(-1, count)[places].astype(float)
    for channel in range(3):
        seen = linear[..., channel].ravel()[places].astype(float)
        ref = like[..., channel].ravel()[places].astype(float)
        design = np.concatenate([t * ref[:, None], t], axis=1)
        least = LEAST_STRENGTH * len(places)
        weight = np.ones(len(seen))
        change = np.zeros(2 * count)
        for _ in range(ROUNDS):
            weighted = design * weight[:, None]
            # What is held to nothing is the change: a factor of one and no veil are free.
            held = STIFFNESS * np.repeat([max(float(weight @ ref**2), least), len(places)], count)
            change = np.linalg.solve(design.T @ weighted + np.diag(held), weighted.T @ (seen - ref))
            left = np.abs(seen - ref - design @ change)
            # Light paint strays more than dark: errors are shares of what is there.
            left = left / (0.02 + ref)
            weight = 1 / (1 + (left / (2 * max(float(np.median(left)), 1e-3))) ** 2) ** 2 / (0.02 + ref) ** 2
            weight /= weight.mean()
        factor[..., channel] = np.maximum(1 + terms @ change[:count].astype(np.float32), LEAST_LIGHT)
        veil[..., channel] = terms @ change[count:].astype(np.float32)
    return factor, veil


def shade_of(even: Singles, reference: Singles, shown: Mask, arc_mm: Floats) -> Singles:
    """What is left of the light (radii, segments, columns): soft shadows that no surface of low degree follows.

    One factor for all channels, which changes over `SHADE_MM`: paint ends at an edge and mostly changes colour too.
    """
    ring = (even.shape[0], -1, 1)
    ratio = np.log(np.maximum(even.sum(-1), 1e-3) / np.maximum(reference.sum(-1), 1e-3)).astype(np.float32)
    weight, shade = shown.astype(np.float32), np.zeros_like(ratio)
    for _ in range(2):
        sums = (smoothed(one.reshape(ring), arc_mm, SHADE_MM) for one in (ratio * weight, weight))
        above, below = (one.reshape(ratio.shape) for one in sums)
        shade = above / np.maximum(below + 0.05, 0.05)
        weight = shown / (1 + ((ratio - shade) / ODD_SHADE) ** 2) ** 2
    return np.exp(shade)


def _of_all_shades(places: NDArray[np.intp], like: Singles) -> NDArray[np.intp]:
    """As many places of light paint as of dark ground: only both together tell a factor from a veil."""
    shade = np.cbrt(like.reshape(-1, 3)[places].mean(1))
    edges = np.linspace(float(shade.min()), float(shade.max()) + 1e-6, SHADES + 1)
    kinds = [places[(shade >= low) & (shade < high)] for low, high in pairwise(edges)]
    most = MOST_PLACES // SHADES
    return np.concatenate([kind[:: max(1, -(-len(kind) // most))] for kind in kinds])


def terms_of(xy_mm: Floats) -> Singles:
    """Products of Legendre polynomials (..., terms) up to `DEGREE`, x and y over the farthest place."""
    p = xy_mm / max(float(np.abs(xy_mm).max()), 1e-9)
    x, y = (legendre(p[..., k], DEGREE) for k in (0, 1))
    pairs = [(i, j) for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i)]
    return np.stack([x[..., i] * y[..., j] for i, j in pairs], axis=-1).astype(np.float32)
