"""From the adjusted numbers back to Marks, in the frame of the first photo with its corrected map."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Centre, Line, Marks, Ring, Spoke
from aligncheck.marks.meeting import spokes_meet
from aligncheck.panel import Panel
from aligncheck.panel.kind import Kind
from aligncheck.together.adjust import Adjusted
from aligncheck.together.match import Frame, Observed, observe
from aligncheck.together.seen import OVAL, Seen, quarter_turn

Floats = NDArray[np.float64]


def joined_marks(
    photos: Sequence[Marks], turned: Sequence[Seen], quarters: Sequence[int], frame: Frame, adjusted: Adjusted
) -> Marks:
    """The common marks.

    `photos` (on their corrected panels), `turned` and `quarters` go together, the first one gives the frame.
    """
    lead = photos[0]
    observed = [observe(frame, t) for t in turned]
    turns = [quarter_turn(q) for q in quarters]
    spokes = tuple(_spoke(k, frame, photos, turns, observed, adjusted) for k in range(len(frame.spokes)))
    rings = tuple(_ring(k, frame, photos, observed, adjusted) for k in range(len(frame.rings)))
    meeting = spokes_meet(spokes)
    centre = _centre(frame, observed, adjusted)
    if centre is None:
        centre = replace(meeting[0], covariance=meeting[1], source="spokes") if meeting else lead.centre
    known = {(n.code, n.text): n for n in lead.notes if n.code != "centre_hidden" or centre.source != "mark"}
    return Marks(
        panel=lead.panel,
        centre=centre,
        spokes_meet=meeting[0] if meeting else None,
        segments=lead.segments,
        spokes=spokes,
        rings=rings,
        diagonals=lead.diagonals,
        light=lead.light,
        notes=tuple(known.values()),
    )


def corrected_panel(panel: Panel, adjusted: Adjusted, photo: int) -> Panel:
    """The panel with its map corrected as the adjustment says of this photo, known as well for every make."""
    one, correction = panel.lens, adjusted.maps[photo]
    # Marks seen from several places tell the bend; one photo's do not (tests/bench/circles_gain.py).
    source = one.source if one.source == "profile" else "marks"
    lens = replace(one, k1=one.k1 + correction[8], k2=one.k2 + correction[9], source=source)
    mended = replace(panel.moved(correction), lens=lens)
    # How the panel was cut moves what is measured, not where the photo shows a corner.
    shown_mm = mended.corners_mm - (correction - adjusted.cut[photo])[:8].reshape(4, 2)
    kinds = tuple(
        Kind(share, 0.0, np.zeros(10), covariance)
        for share, covariance in zip(adjusted.shares, adjusted.map_covariances[:, photo], strict=True)
    )
    return replace(
        mended,
        corners_px=mended.to_photo(shown_mm),
        covariance=adjusted.side_covariances[photo],
        kinds=kinds,
        settled=True,
        squareness=None,
    )


def _own(observed: Sequence[Observed], index: int, count: int, share: float) -> Floats:
    """Own covariance (count, count) of the common numbers from `index` on.

    It is the mean of the photos' own covariances, each counting by how sure it is. Of that the part that differs from
    photo to photo (`share`) averages; the rest is the chalk's grain, the same in all, and is not less for there being
    many.
    """
    blocks = []
    for o in observed:
        at = np.flatnonzero((o.index >= index) & (o.index < index + count))
        if len(at) == count:
            blocks.append(o.own[np.ix_(at, at)])
    weights = 1 / np.array([np.trace(b) + 1e-9 for b in blocks])
    mean = np.tensordot(weights / weights.sum(), np.array(blocks), axes=1)
    differ = share**2
    return np.asarray(mean * (max(1 - differ, 0.0) + differ / len(blocks)), float)


def _matching(place: Floats, marks: Marks, turn: Floats) -> Spoke | None:
    """The photo's own spoke at this place of the frame."""
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
    turns: Sequence[Floats],
    observed: Sequence[Observed],
    adjusted: Adjusted,
) -> Spoke:
    place = frame.spokes[k]
    along = (place[2:] - place[:2]) / np.linalg.norm(place[2:] - place[:2])
    normal = np.array([-along[1], along[0]])
    inner = place[:2] + adjusted.numbers[2 * k] * normal
    outer = place[2:] + adjusted.numbers[2 * k + 1] * normal
    own_spokes = [
        (spoke, turn)
        for m, turn, o in zip(photos, turns, observed, strict=True)
        if k in o.mark and (spoke := _matching(place, m, turn)) is not None
    ]
    if own_spokes:
        # Where a stroke begins and ends does not depend on the map's fine print: the middle of what the photos say.
        reach = np.median([[turn @ s.inner_mm @ along, turn @ s.outer_mm @ along] for s, turn in own_spokes], axis=0)
        slope = (outer - inner) / ((outer - inner) @ along)
        inner, outer = inner + slope * (reach[0] - inner @ along), inner + slope * (reach[1] - inner @ along)
    best, turn = min(own_spokes, key=lambda pair: float(np.trace(pair[0].across_covariance)), default=(None, None))
    return Spoke(
        inner_mm=inner,
        outer_mm=outer,
        across_covariance=_own(observed, 2 * k, 2, adjusted.share),
        width_mm=best.width_mm if best else 0.0,
        along_sd_mm=best.along_sd_mm if best else (0.0, 0.0),
        place=k,
        strokes=tuple(_turned_line(s, turn) for s in best.strokes) if best and turn is not None else (),
    )


def _turned_line(line: Line, turn: Floats) -> Line:
    return replace(line, inner_mm=turn @ line.inner_mm, outer_mm=turn @ line.outer_mm)


def _ring(k: int, frame: Frame, photos: Sequence[Marks], observed: Sequence[Observed], adjusted: Adjusted) -> Ring:
    first = 2 * len(frame.spokes) + OVAL * k
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
