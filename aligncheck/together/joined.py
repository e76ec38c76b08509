"""From the adjusted numbers back to Marks, in the frame of the first photo with its corrected map."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Centre, Line, Marks, Ring, Spoke
from aligncheck.marks.meeting import spokes_meet
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.together.adjust import LEAST_SHARE, Adjusted
from aligncheck.together.match import Frame, Observed, observe
from aligncheck.together.seen import Seen, quarter_turn

Floats = NDArray[np.float64]
#: Moves points (..., 2) of a photo's own frame to where the adjustment puts them in the common one.
Move = Callable[[Floats], Floats]

#: What all photos of a panel share and no number of them averages away: edges are rounded, and their seen border lies
#: inside the true side by an amount known to so many mm, which scales everything.
COMMON_INSET_MM = 0.03


def joined_marks(
    photos: Sequence[Marks], turned: Sequence[Seen], quarters: Sequence[int], frame: Frame, adjusted: Adjusted
) -> Marks:
    """The common marks; `photos`, `turned` and `quarters` go together, the first one gives the frame."""
    lead = photos[0]
    panel = corrected_panel(lead.panel, adjusted.maps[0], adjusted.map_covariances[0])
    moves = [_move(m.panel, p, q) for m, p, q in zip(photos, adjusted.maps, quarters, strict=True)]
    observed = [observe(frame, t) for t in turned]
    spokes = tuple(_spoke(k, frame, photos, moves, quarters, observed, adjusted) for k in range(len(frame.spokes)))
    rings = tuple(_ring(k, frame, photos, observed, adjusted) for k in range(len(frame.rings)))
    meeting = spokes_meet(spokes)
    centre = _centre(frame, observed, adjusted)
    if centre is None:
        centre = replace(meeting[0], covariance=meeting[1], source="spokes") if meeting else lead.centre
    diagonals = tuple(_moved_line(d, moves[0]) for d in lead.diagonals)
    known = {(n.code, n.text): n for n in lead.notes if n.code != "centre_hidden" or centre.source != "mark"}
    return Marks(
        panel=panel,
        centre=centre,
        spokes_meet=meeting[0] if meeting else None,
        segments=lead.segments,
        spokes=spokes,
        rings=rings,
        diagonals=diagonals,
        light=lead.light,
        notes=tuple(known.values()),
    )


def corrected_panel(panel: Panel, correction: Floats, covariance: Floats) -> Panel:
    """The panel with its map corrected by `correction` (10,), known to `covariance` (10, 10)."""
    one = panel.lens
    # Marks seen from several places tell the bend; one photo's do not (tests/bench/circles_gain.py).
    source = one.source if one.source == "profile" else "marks"
    lens = replace(one, k1=one.k1 + correction[8], k2=one.k2 + correction[9], source=source)
    mended = replace(panel.moved(correction), lens=lens)
    corners_px = mended.to_photo(panel.corners_mm)
    inset = np.zeros(10)
    inset[:8] = (-np.sign(nominal_corners(1, 1)) * COMMON_INSET_MM).ravel()
    whole = covariance + np.outer(inset, inset)
    return replace(mended, corners_px=corners_px, covariance=whole, kinds=(), squareness=None)


def _move(panel: Panel, correction: Floats, quarters: int) -> Move:
    turn = quarter_turn(quarters)
    return lambda points: (points + panel.field(points) @ correction) @ turn.T


def _own(observed: Sequence[Observed], index: int, count: int, share: float) -> Floats:
    """Own covariance (count, count) of the common numbers from `index` on.

    The chalk's grain is the same in every photo, so it is the mean of the photos' own covariances, each counting by
    how sure it is, and not less for there being many. Where photos differ more than their own figures allow, the
    surplus does average.
    """
    blocks = []
    for o in observed:
        at = np.flatnonzero((o.index >= index) & (o.index < index + count))
        if len(at) == count:
            blocks.append(o.own[np.ix_(at, at)])
    weights = 1 / np.array([np.trace(b) + 1e-9 for b in blocks])
    mean = np.tensordot(weights / weights.sum(), np.array(blocks), axes=1)
    differ = max(share, LEAST_SHARE) ** 2 / len(blocks)
    return np.asarray(mean * max(1.0, differ), float)


def _matching(place: Floats, marks: Marks, quarters: int) -> Spoke | None:
    """The photo's own spoke at this place of the frame."""
    turn = quarter_turn(quarters)
    middle = (place[:2] + place[2:]) / 2

    def apart(spoke: Spoke) -> float:
        return float(np.linalg.norm((spoke.inner_mm + spoke.outer_mm) / 2 @ turn.T - middle))

    best = min(marks.spokes, key=apart, default=None)
    # Half of a spoke's own length: neighbours about a common centre lie further off only where they are few, but then
    # they point elsewhere and their middles are apart.
    return best if best is not None and apart(best) < np.linalg.norm(place[2:] - place[:2]) / 2 else None


def _spoke(
    k: int,
    frame: Frame,
    photos: Sequence[Marks],
    moves: Sequence[Move],
    quarters: Sequence[int],
    observed: Sequence[Observed],
    adjusted: Adjusted,
) -> Spoke:
    place = frame.spokes[k]
    along = (place[2:] - place[:2]) / np.linalg.norm(place[2:] - place[:2])
    normal = np.array([-along[1], along[0]])
    inner = place[:2] + adjusted.numbers[2 * k] * normal
    outer = place[2:] + adjusted.numbers[2 * k + 1] * normal
    own_spokes = [
        (spoke, move)
        for m, q, move, o in zip(photos, quarters, moves, observed, strict=True)
        if k in o.mark and (spoke := _matching(place, m, q)) is not None
    ]
    if own_spokes:
        # Where a stroke begins and ends does not depend on the map's fine print: the middle of what the photos say.
        reach = np.median([[move(s.inner_mm) @ along, move(s.outer_mm) @ along] for s, move in own_spokes], axis=0)
        slope = (outer - inner) / ((outer - inner) @ along)
        inner, outer = inner + slope * (reach[0] - inner @ along), inner + slope * (reach[1] - inner @ along)
    best, move = min(own_spokes, key=lambda pair: float(np.trace(pair[0].across_covariance)), default=(None, None))
    return Spoke(
        inner_mm=inner,
        outer_mm=outer,
        across_covariance=_own(observed, 2 * k, 2, adjusted.share),
        width_mm=best.width_mm if best else 0.0,
        along_sd_mm=best.along_sd_mm if best else (0.0, 0.0),
        place=k,
        strokes=tuple(_moved_line(s, move) for s in best.strokes) if best and move else (),
    )


def _moved_line(line: Line, move: Move) -> Line:
    return replace(line, inner_mm=move(line.inner_mm), outer_mm=move(line.outer_mm))


def _ring(k: int, frame: Frame, photos: Sequence[Marks], observed: Sequence[Observed], adjusted: Adjusted) -> Ring:
    first = 2 * len(frame.spokes) + 3 * k
    x, y, radius = adjusted.numbers[first : first + 3]
    own = _own(observed, first, 3, adjusted.share)
    order = [2, 0, 1]
    alike = [min(m.rings, key=lambda r: abs(r.radius_mm - radius)) for m in photos if m.rings]
    best = max(alike, key=lambda r: r.coverage)
    return Ring(
        centre_mm=np.array([x, y]),
        radius_mm=float(radius),
        covariance=own[np.ix_(order, order)],
        width_mm=best.width_mm,
        roundness_mm=best.roundness_mm,
        coverage=best.coverage,
    )


def _centre(frame: Frame, observed: Sequence[Observed], adjusted: Adjusted) -> Centre | None:
    at = frame.size - 2
    if not np.isfinite(adjusted.numbers[at:]).all():
        return None
    return Centre(adjusted.numbers[at:], _own(observed, at, 2, adjusted.share), "mark")
