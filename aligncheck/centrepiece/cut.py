"""The cut: the outline that evidence wants and edges hold, by a convex total-variation problem.

Minimises sum(f u) + strength * sum(g |grad u|) over 0 <= u <= 1, with g small on the picture's edges: a continuous
minimal cut (Chan, Esedoglu & Nikolova 2006), solved by the primal-dual steps of Chambolle & Pock 2011.
"""

import numpy as np

from aligncheck.centrepiece.window import Mask, Singles

#: Rounds at most; every so many of them it is asked whether the outline still moves: by more than this share of itself.
ROUNDS, ASK, STILL = 60, 10, 0.02
#: Step of both variables; their product times the gradient's squared norm (8) must stay below 1.
STEP = 0.35
#: No boundary is free: nothing is divided by nought.
TINY = 1e-6


def cut(evidence: Singles, hold: Singles, strength: float, start: Mask, rounds: int = ROUNDS) -> Singles:
    """Solve for u (h, w), near 1 inside.

    Parameters
    ----------
    evidence : ndarray (h, w)
        f: negative where a pixel is piece, about -1 to 1.
    hold : ndarray (h, w)
        g: what a boundary costs there.
    start : ndarray (h, w) of bool
        A first guess.
    """
    u = start.astype(np.float32)
    bar, inside = u.copy(), start
    # The dual field over the step, so that a gradient is added to it as it is.
    px, py = np.zeros_like(u), np.zeros_like(u)
    limit = np.maximum(strength / STEP * hold, TINY).astype(np.float32)
    force = (STEP * evidence).astype(np.float32)
    length, square, step = np.empty_like(u), np.empty_like(u), np.empty_like(u)
    for done in range(rounds):
        if done and done % ASK == 0:
            was, inside = inside, u > 0.5
            if (was ^ inside).sum() <= STILL * _border(inside):
                break
        # Dual: gradient step, then back onto discs of radius `limit`.
        np.subtract(bar[:, 1:], bar[:, :-1], out=step[:, :-1])
        px[:, :-1] += step[:, :-1]
        np.subtract(bar[1:], bar[:-1], out=step[:-1])
        py[:-1] += step[:-1]
        np.multiply(px, px, out=length)
        np.multiply(py, py, out=square)
        length += square
        np.sqrt(length, out=length)
        np.maximum(length, limit, out=length)
        np.divide(limit, length, out=length)
        px *= length
        py *= length
        # Primal: divergence step, clipped, with over-relaxation.
        np.add(px, py, out=step)
        step[:, 1:] -= px[:, :-1]
        step[1:] -= py[:-1]
        step *= STEP * STEP
        step -= force
        step += u
        np.clip(step, 0, 1, out=step)
        np.multiply(step, 2, out=bar)
        bar -= u
        u, step = step, u
    return u


def _border(mask: Mask) -> int:
    """Pixels' sides between inside and outside."""
    return int((mask[1:] ^ mask[:-1]).sum() + (mask[:, 1:] ^ mask[:, :-1]).sum())


def holds(colours: Singles, noise: float, least: float = 0.06) -> Singles:
    """Cost (h, w) of a boundary: 1 on even ground, down to `least` on sharp edges; `noise` is the ground's own step."""
    dx = np.zeros(colours.shape[:2], np.float32)
    dy = np.zeros_like(dx)
    across = np.diff(colours, axis=1)
    dx[:, :-1] = np.einsum("hwc,hwc->hw", across, across)
    down = np.diff(colours, axis=0)
    dy[:-1] = np.einsum("hwc,hwc->hw", down, down)
    return np.clip(np.exp(-(dx + dy) / (2 * noise**2)), least, 1).astype(np.float32)
