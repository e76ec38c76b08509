"""Was the layout drawn in two strokes: through a stencil, then pulled out with a ruler or by hand?

Then all spokes change direction at about one distance from the centre, that of the stencil's edge. The evidence for a
hinge there, over bows alone, is summed over the spokes; no single one can decide, as its part is cut.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: A second stroke turns away from the first by about this much, radians (0.7 degrees: a ruler laid by eye).
TURN = np.radians(0.7)
#: One stroke's part in the evidence, natural logarithm, at most.
CUT = 12.0
#: The evidence must stand out from that at other distances, where bows gain as well, by as much as one stroke may give,
#: and the usual stroke must speak for the hinge by a factor of e.
STAND_OUT, EACH = CUT, 1.0
#: Evidence of bowed layouts comes up to the limits by chance; this much to either side leaves doubt.
DOUBT = 4.0
#: Bows that the hinged strokes may have, mm, beside those learned without a hinge.
HINGED_BOWS_MM = (0.002, 0.01, 0.02)
#: Where a hinge is looked for, in parts of the layout's reach.
SPAN = (0.25, 0.88)
#: Less than this of a first stroke, mm, shows no direction (a centrepiece may cover the rest).
FIRST_STROKE_MM = 12.0
#: With less than this left beyond the hinge a second stroke cannot be told.
FURTHEST = 0.82
#: Distances tried.
TRIED = 48


def hinge_evidence(
    along_mm: Floats,
    basis: Floats,
    offset_mm: Floats,
    precision: Floats,
    prior_mm: Floats,
    hinges_mm: Floats,
) -> Floats:
    """Log evidence (S, G) for a hinge at each of `hinges_mm` (G,), over bows alone.

    `basis` (S, R, P) and `prior_mm` (P,) are those of the bows, `precision` (S, R) is one over each row's variance.
    """
    hinge = np.maximum(along_mm[:, None] - hinges_mm, 0.0)
    weighted = basis * precision[..., None]
    normal = np.einsum("srp,srq->spq", weighted, basis, optimize=True)
    right = np.einsum("srp,sr->sp", weighted, offset_mm)
    cross = np.einsum("srp,rg->sgp", weighted, hinge, optimize=True)
    own = precision @ (hinge**2)
    hinge_right = (precision * offset_mm) @ hinge
    places, count = len(basis), len(hinges_mm)
    size = basis.shape[2]
    full = np.empty((places, count, size + 1, size + 1))
    full[..., :size, :size] = normal[:, None]
    full[..., :size, size] = full[..., size, :size] = cross
    full[..., size, size] = own
    b = np.concatenate([np.broadcast_to(right[:, None], (places, count, size)), hinge_right[..., None]], axis=2)
    without = _evidence(normal, right, prior_mm)
    best = np.full((places, count), -np.inf)
    line = prior_mm[:2]
    for bow in (None, *HINGED_BOWS_MM):
        prior = np.append(prior_mm if bow is None else np.append(line, np.full(size - 2, bow)), TURN)
        best = np.maximum(best, _evidence(full, b, prior))
    return best - without[:, None]


def _evidence(normal: Floats, right: Floats, prior: Floats) -> Floats:
    """Log evidence (...) of a linear Gaussian model, but for what all models share."""
    matrix = normal + np.diag(1 / prior**2)
    _, logdet = np.linalg.slogdet(matrix)
    fitted = np.linalg.solve(matrix, right[..., None])[..., 0]
    return np.asarray(0.5 * (right * fitted).sum(-1) - 0.5 * logdet - np.log(prior).sum(), float)


@dataclass(frozen=True)
class Kink:
    """Where the layout's spokes most likely change direction, and how likely it is that they do at all."""

    at_mm: float
    chance: float


def find_kink(
    along_mm: Floats,
    basis: Floats,
    offset_mm: Floats,
    precision: Floats,
    prior_mm: Floats,
    span_mm: tuple[float, float],
) -> Kink:
    """Where spokes that are seen over `span_mm` change direction; the rest as in `hinge_evidence`."""
    start_mm, reach_mm = span_mm
    hinges = np.linspace(max(SPAN[0] * reach_mm, start_mm + FIRST_STROKE_MM), SPAN[1] * reach_mm, TRIED)
    evidence = hinge_evidence(along_mm, basis, offset_mm, precision, prior_mm, hinges)
    total = np.clip(evidence, -CUT, CUT).sum(0)
    total[hinges > FURTHEST * reach_mm] = -np.inf
    at = int(total.argmax())
    peak, usual = float(total[at]), float(np.median(total[np.isfinite(total)]))
    excess = min(peak - max(STAND_OUT, EACH * len(basis)), peak - usual - STAND_OUT)
    return Kink(float(hinges[at]), float(1 / (1 + np.exp(-np.clip(excess / DOUBT, -50, 50)))))
