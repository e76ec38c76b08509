"""What round rings tell of the map: a stencil's rings are round, so an oval that all of them share is the map's.

A panel that is out of square looks, in one photo, like a square one seen at another slant: no side tells. Rings do, for
under the wrong slant all of them are drawn out the same way, the more the larger they are. Every kind of panel that the
sides leave open is conditioned on that (normal laws, so that Bayes' rule is linear algebra): how likely it is, and
where its map lies. As far as a hand may have drawn ovals, nothing moves.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.marks import Ring, Waves
from aligncheck.marks.moved import AROUND, around, circle_by
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind
from aligncheck.panel.square import out_of_square

Floats = NDArray[np.float64]

#: A hand's own ovals are larger than its finer waves, by this factor: each by itself, and as much again all alike.
HAND_OVAL = 2.0


def settled_panel(panel: Panel, rings: tuple[Ring, ...]) -> Panel:
    """The panel with the map that its sides and its round rings together make the likeliest."""
    seen = [(ring, ring.waves) for ring in rings if ring.waves is not None]
    slopes = _slopes(panel, [ring for ring, _ in seen])
    ovals = np.array([waves.oval_mm for _, waves in seen]).reshape(-1)
    spread = _spread([waves for _, waves in seen])
    given = [_given_ovals(kind, panel, slopes, ovals, spread) for kind in panel.possible_kinds]
    likely = np.exp([g.log_share - max(g.log_share for g in given) for g in given])
    shares = likely / likely.sum()
    whole, whole_covariances = _mixed(shares, [(g.mean, g.covariance) for g in given])
    sides, sides_covariances = _mixed(shares, [(g.sides_mean, g.sides_covariance) for g in given])
    kinds = tuple(
        Kind(float(share), 0.0, np.zeros_like(whole), covariance)
        for share, covariance in zip(shares, whole_covariances, strict=True)
    )
    moved = panel.moved(whole)
    # Of that, what the sides were read wrong by moves the corners in the photo; the rest is how the panel was cut.
    corners_px = moved.to_photo(moved.corners_mm - sides[:8].reshape(4, 2))
    covariance = np.tensordot(shares, sides_covariances, axes=1)
    return replace(moved, corners_px=corners_px, covariance=covariance, kinds=kinds, settled=True)


class _Given(NamedTuple):
    """One kind of panel after the ovals: how likely, and the map's parameters; `sides_`: what of them is the fit's."""

    log_share: float
    mean: Floats
    covariance: Floats
    sides_mean: Floats
    sides_covariance: Floats


def _given_ovals(kind: Kind, panel: Panel, slopes: Floats, ovals: Floats, spread: Floats) -> _Given:
    sides, cut = kind.covariance, np.zeros_like(kind.covariance)
    cut[:8, :8] = out_of_square(panel.width_mm, panel.height_mm, kind.out_of_square_mm)
    before, unlike = sides + cut, ovals + slopes @ kind.mean
    both = slopes @ before @ slopes.T + spread
    pull, surprise = slopes.T @ np.linalg.inv(both), np.linalg.slogdet(both)[1]
    step = pull @ unlike
    return _Given(
        float(np.log(kind.share) - (unlike @ np.linalg.solve(both, unlike) + surprise) / 2),
        kind.mean - before @ step,
        before - before @ pull @ slopes @ before,
        kind.mean - sides @ step,
        sides - sides @ pull @ slopes @ sides,
    )


def _mixed(shares: Floats, laws: list[tuple[Floats, Floats]]) -> tuple[Floats, list[Floats]]:
    """The mean of all laws, and their covariances about it."""
    mean = np.asarray(shares @ np.array([own for own, _ in laws]), float)
    return mean, [covariance + np.outer(own - mean, own - mean) for own, covariance in laws]


def _slopes(panel: Panel, rings: list[Ring]) -> Floats:
    """How the map's parameters change the ovals of the rings: (2 n, 10)."""
    # One call for all rings: the map's derivative costs the same for one point as for a thousand.
    fields = panel.field(np.array([around(ring) for ring in rings]).reshape(-1, AROUND, 2))
    return np.concatenate([np.zeros((0, 10)), *(circle_by(field)[3:] for field in fields)])


def _spread(waves: list[Waves]) -> Floats:
    """Covariance (2 n, 2 n) of ovals that are not the map's: as read, and as drawn."""
    n = len(waves)
    hand = np.repeat([HAND_OVAL * one.hand_mm for one in waves], 2)
    spread = np.outer(hand, hand) * np.kron(np.eye(n) + 1, np.eye(2))
    for k, one in enumerate(waves):
        spread[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] += one.oval_covariance
    return spread
