"""What round rings tell of the map: a stencil's rings are round, so an oval that all of them share is the map's.

A panel that is out of square looks, in one photo, like a square one seen at another slant: no side tells. Rings do, for
under the wrong slant all of them are drawn out the same way, the more the larger they are. Every kind of panel that the
sides leave open is conditioned on that (normal laws, so that Bayes' rule is linear algebra): how likely it is, and
where its map lies. As far as a hand may have drawn ovals, nothing moves.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.marks.marks import Ring, Waves
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind
from aligncheck.panel.square import out_of_square

Floats = NDArray[np.float64]

#: Points round a ring at which the map's displacement is taken, which is smooth.
AROUND = 24
#: A hand's own ovals are larger than its finer waves, by this factor: each by itself, and as much again all alike.
HAND_OVAL = 2.0


def settled_panel(panel: Panel, rings: tuple[Ring, ...]) -> Panel:
    """The panel with the map that its sides and its round rings together make the likeliest."""
    seen = [(ring, ring.waves) for ring in rings if ring.waves is not None]
    slopes = _slopes(panel, [ring for ring, _ in seen])
    ovals = np.array([waves.oval_mm for _, waves in seen]).reshape(-1)
    spread = _spread([waves for _, waves in seen])
    weights, means, covariances = [], [], []
    for kind in panel.possible_kinds:
        before = kind.covariance.copy()
        before[:8, :8] += out_of_square(panel.width_mm, panel.height_mm, kind.out_of_square_mm)
        unlike, both = ovals + slopes @ kind.mean, slopes @ before @ slopes.T + spread
        gain = np.linalg.solve(both, slopes @ before).T
        weights.append(np.log(kind.share) - (unlike @ np.linalg.solve(both, unlike) + np.linalg.slogdet(both)[1]) / 2)
        means.append(kind.mean - gain @ unlike)
        covariances.append(before - gain @ slopes @ before)
    likely = np.exp(np.array(weights) - max(weights))
    shares = likely / likely.sum()
    mean = shares @ np.array(means)
    kinds = tuple(
        Kind(float(share), 0.0, np.zeros_like(mean), after + np.outer(own - mean, own - mean))
        for share, own, after in zip(shares, means, covariances, strict=True)
    )
    return replace(panel.moved(mean), kinds=kinds, settled=True)


def around(ring: Ring) -> Floats:
    """Points (AROUND, 2) round the ring."""
    return np.asarray(ring.centre_mm + ring.radius_mm * outward(np.arange(AROUND) * 360.0 / AROUND), float)


def waves_of(radial: Floats) -> Floats:
    """Of deviations (AROUND, ...) at those points: circle (radius, x, y) and oval (two terms), shape (5, ...)."""
    bearings = np.arange(AROUND) * 360.0 / AROUND
    twice = 2 * np.radians(bearings)
    design = np.column_stack([np.ones(AROUND), outward(bearings), np.cos(twice), np.sin(twice)])
    return np.asarray(np.linalg.lstsq(design, radial, rcond=None)[0], float)


def _slopes(panel: Panel, rings: list[Ring]) -> Floats:
    """How the map's parameters change the ovals of the rings: (2 n, 10)."""
    out = outward(np.arange(AROUND) * 360.0 / AROUND)
    ovals = [waves_of(np.einsum("ti,tij->tj", out, panel.field(around(ring))))[3:] for ring in rings]
    return np.concatenate([np.zeros((0, 10)), *ovals])


def _spread(waves: list[Waves]) -> Floats:
    """Covariance (2 n, 2 n) of ovals that are not the map's: as read, and as drawn."""
    n = len(waves)
    hand = np.repeat([HAND_OVAL * one.hand_mm for one in waves], 2)
    spread = np.outer(hand, hand) * np.kron(np.eye(n) + 1, np.eye(2))
    for k, one in enumerate(waves):
        spread[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] += one.oval_covariance
    return spread
