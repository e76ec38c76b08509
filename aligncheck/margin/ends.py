"""Where spokes end, for the margin: the last chalk on the spoke's own line, and what chalk that thins out leaves open.

Chalk on a rough panel comes and goes in patches. Where it has become sparse, the hand went on beyond the last patch by
about as much as the panel lies bare between two patches; that is added, and the interval says so.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.margin.view import MarginView
from aligncheck.marks import Line, Spoke

Floats = NDArray[np.float64]

#: Step along the spoke, and how far within and beyond its measured end is looked, mm.
STEP_MM, WITHIN_MM, BEYOND_MM = 0.15, 30.0, 20.0
#: Where the bare panel beside and beyond is taken to be seen, mm from the end.
BARE_FROM_MM, BARE_TO_MM = 8.0, 25.0
#: Rows are averaged over this length, and across the stroke's width less its soft edges.
MEAN_MM, CORE = 0.3, 0.45
#: Places beside the stroke, mm from its edge.
FLANK_MM = np.array([0.6, 0.9, 1.2])
#: A row is marked above this part of a well drawn row, and above so many times the bare rows' spread.
CHALK, SPREADS, RARE_PERCENT = 0.12, 4.0, 97.0
#: A row beyond the end that holds half of what a well drawn row does is no bare panel: another line crosses.
CROSSED = 0.5
#: Length of a patch of chalk, mm; the share of marked rows is counted over the last dozen of them at most.
PATCH_MM, COUNT_MM = 1.3, 12.0
#: A shorter gap never ends a stroke, mm; the side itself and its rounding are kept clear of.
GAP_MM, SIDE_MM = 2.0, 2.0
#: Beyond the end the mean is nothing, within it the stroke's own: halfway parts the two. What thins out is followed
#: afterwards; a smaller part would reach over a gap to whatever line crosses beyond it.
PARTING = 0.5
#: The last patch's own height is taken over this length, mm.
LAST_MM = 0.9
#: The hand lifts while it still moves: the last bit of a stroke leaves nothing that is seen. How much as a rule, and
#: the standard deviation of an end that was drawn well to the last, mm: a patch of chalk, any part of which is alike
#: likely to be the last (1.3 mm / square root of 12).
LIFT_MM, SHARP_SD_MM = 0.15, 0.4
#: Least share of marked rows that is believed: sparser chalk would not have been followed so far.
LEAST_SHARE = 0.35
#: How much chalk the last bit of a stroke holds, over this length, mm, tells how gently the hand was lifted.
LAST_CHALK_MM = 4.0


@dataclass(frozen=True)
class End:
    """Where a spoke ends: point (2,), standard deviation along the spoke, mm, and whether it was seen to end."""

    point_mm: Floats
    sd_mm: float
    sharp: bool


def spoke_ends(view: MarginView, spokes: tuple[Spoke, ...], diagonals: tuple[Line, ...] = ()) -> list[End]:
    """The ends of the spokes, each along its own line; along a construction line as the marks have it."""
    if not spokes:
        return []
    along = np.arange(-WITHIN_MM, BARE_TO_MM, STEP_MM)
    window = max(1, round(MEAN_MM / STEP_MM))
    kernel = np.ones(window) / window
    smooth = np.array([np.convolve(row, kernel, "same") for row in _chalk(view, spokes, along)])
    threshold = _threshold(smooth[:, along > BARE_FROM_MM])
    return [
        _as_marked(spoke) if _along_any(spoke, diagonals) else _end(spoke, along, row, threshold, _room(view, spoke))
        for spoke, row in zip(spokes, smooth, strict=True)
    ]


def _threshold(bare: Floats) -> float:
    """What a marked row is above, from rows (S, n) beyond the ends, some of which other lines cross."""
    calm = bare[bare < CROSSED]
    if not calm.size:
        return CROSSED
    # Grain has a long tail: what one bare row in thirty passes is no sign of chalk.
    spread = 1.4826 * float(np.median(np.abs(calm - np.median(calm))))
    return max(CHALK, SPREADS * spread, float(np.percentile(calm, RARE_PERCENT)))


def _end(spoke: Spoke, along: Floats, row: Floats, threshold: float, room: float) -> End:
    """One spoke's end and how far it may be off: by its last patch, by what faded out, by how the marks have it."""
    at, share = _last_chalk(along, row, threshold, room)
    further = at + _open(share) + LIFT_MM
    last = row[(along > at - LAST_CHALK_MM) & (along < at)]
    faded = _open(min(float(last.mean()), 1.0)) / 2 if len(last) else 0.0
    sd = float(np.linalg.norm([SHARP_SD_MM, faded, further / 2]))
    return End(spoke.outer_mm + further * outward(spoke.angle_deg), sd, at < room - GAP_MM)


def _open(share: float) -> float:
    """Bare length between two patches of chalk that covers this share of the line, mm."""
    return PATCH_MM * (1 - share) / max(share, LEAST_SHARE)


def _as_marked(spoke: Spoke) -> End:
    """A spoke's end as the marks have it."""
    return End(spoke.outer_mm, float(np.hypot(SHARP_SD_MM, spoke.along_sd_mm[1])), True)


def _along_any(spoke: Spoke, lines: tuple[Line, ...]) -> bool:
    """Whether a spoke lies on one of these lines: its chalk tells nothing of where the spoke ends."""
    for line in lines:
        ahead = (line.outer_mm - line.inner_mm) / np.linalg.norm(line.outer_mm - line.inner_mm)
        aside = [abs(float(ahead[0] * d[1] - ahead[1] * d[0])) for d in _ends_from(spoke, line)]
        if max(aside) < (line.width_mm + spoke.width_mm) / 2:
            return True
    return False


def _ends_from(spoke: Spoke, line: Line) -> tuple[Floats, Floats]:
    """Both ends of a spoke seen from where a line begins."""
    return spoke.inner_mm - line.inner_mm, spoke.outer_mm - line.inner_mm


def _chalk(view: MarginView, spokes: tuple[Spoke, ...], along: Floats) -> Floats:
    """Chalk (S, n) along the spokes, 1 in a well drawn row.

    The direction in colour is the one in which chalk and bare panel differ most for their spread (Fisher 1936).
    """
    rows = np.array([_rows(view, spoke, along) for spoke in spokes])
    drawn = rows[:, along < -2.0].reshape(-1, 3)
    bare = rows[:, along > BARE_FROM_MM].reshape(-1, 3)
    middle = np.median(bare, axis=0)
    away = np.linalg.norm(bare - middle, axis=1)
    spread = np.cov(bare[away <= 3 * np.median(away) + 1e-9].T) + 1e-6 * np.eye(3)
    chalk = rows @ np.linalg.solve(spread, np.median(drawn, axis=0) - middle)
    return chalk / max(float(np.percentile(chalk[:, along < -2.0], 75)), 1e-9)


def _rows(view: MarginView, spoke: Spoke, along: Floats) -> Floats:
    """Colour (n, 3) on the stroke less what lies beside it, at distances along it from its measured end."""
    width = max(spoke.width_mm, 0.5)
    beside = width / 2 + FLANK_MM
    offsets = np.concatenate([-beside, np.linspace(-CORE, CORE, 7) * width, beside])
    points = spoke.outer_mm + along[:, None, None] * outward(spoke.angle_deg)
    pixels = view.to_view(points + offsets[None, :, None] * clockwise(spoke.angle_deg)).astype(np.float32)
    colours = cv2.remap(view.away, pixels[..., 0], pixels[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    core, flanks = colours[:, 3:10].mean(1), (colours[:, :3].mean(1) + colours[:, 10:].mean(1)) / 2
    return np.asarray(core - flanks, float)


def _last_chalk(along: Floats, smooth: Floats, threshold: float, limit: float) -> tuple[float, float]:
    """Where the last patch falls to half of its own height, mm from the measured end; share of marked rows before it.

    The end is a change-point: the sum of what lies above the parting level is greatest there (Page 1954). Patches that
    follow without a gap to speak of still belong to it, specks of faint chalk where the hand was lifted.
    """
    marked = (smooth > threshold) & (along < limit)
    start = int(np.searchsorted(along, -GAP_MM))
    stop = int(np.searchsorted(along, limit))
    rows = round(COUNT_MM / STEP_MM)
    parting = PARTING * max(float(smooth[max(0, start - rows) : start].mean()), threshold)
    last = start + int(np.argmax(np.concatenate([[0.0], np.cumsum(smooth[start:stop] - parting)])))
    # No further than one gap in all: specks of grain lie as close to one another.
    before = np.flatnonzero(marked[: last + round(GAP_MM / STEP_MM) + 1])
    last = int(before[-1]) if len(before) else start
    share = float(marked[max(0, last - rows) : last + 1].mean())
    height = float(smooth[max(0, last - round(LAST_MM / STEP_MM)) : last + 1].max())
    row = last
    while row > 0 and smooth[row] < height / 2:
        row -= 1
    step = max(float(smooth[row] - smooth[min(row + 1, len(smooth) - 1)]), 1e-6)
    return float(along[row] + STEP_MM * np.clip((smooth[row] - height / 2) / step, 0.0, 1.0)), share


def _room(view: MarginView, spoke: Spoke) -> float:
    """How far beyond its measured end a spoke's line stays on the face, mm, at most what is looked at."""
    height, width = view.unlike.shape
    half = np.array([width, height]) / (2 * view.px_per_mm) - SIDE_MM
    ahead = outward(spoke.angle_deg)
    with np.errstate(divide="ignore"):
        room = (half - np.sign(ahead) * spoke.outer_mm) / np.abs(ahead)
    return float(min(BEYOND_MM, room.min()))
