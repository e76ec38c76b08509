"""Straight tracks along which the picture steps, inside a rectified outline."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.bands import GAP, LASTING, PIECES, TRIMMED, Band, soft_steps

Floats = NDArray[np.float32]

#: How much a lasting step of texture counts against the close steps of the colours.
TEXTURE_SHARE = 0.7
#: Weaker than this is chance.
LEAST_STRENGTH = 0.12
#: Tracks kept per side.
MOST_TRACKS = 7
#: A drawn line: at most so far from the track (mm), and then the same surface again for as much; texture, a mean
#: over neighbours, spreads it by some pixels.
LINE_MM, BEYOND_MM, SPREAD_PX = 2.7, 2.7, 3
#: Codes by which a drawn line stands out.
LINE_PEAK = 8.0
#: A track this near (mm) to a line's is the line's other flank.
LINE_REACH_MM = 4.0


@dataclass(frozen=True)
class Track:
    """One track: `depth_px` at the side's middle, `slope` (depth per length), strength, and its lasting step (4,)."""

    depth_px: float
    slope: float
    strength: float
    step: Floats
    given: bool = False


def find_tracks(
    band: Band, *, blind_px: int, turn_deg: float, turn_step_deg: float, lines_out: bool, trimmed: int = TRIMMED
) -> list[Track]:
    """The strongest tracks of a band, strongest first, at most seven.

    `lines_out` leaves out drawn lines, which part nothing, and looks again with them wiped out of the band.
    `trimmed` pieces are left out at both ends of the mean along a track; none is faster.
    """
    slopes = np.tan(np.radians(np.arange(-turn_deg, turn_deg + 1e-9, turn_step_deg)))
    found, lines = _search(band, slopes, blind_px, lines_out, trimmed)
    if lines:
        for line in lines:
            band = _wiped(band, *line)
        found, _ = _search(band, slopes, blind_px, lines_out, trimmed)
    return found


def _search(
    band: Band, slopes: Floats, blind_px: int, lines_out: bool, trimmed: int
) -> tuple[list[Track], list[tuple[float, float]]]:
    """Tracks, and drawn lines as (depth, slope)."""
    close, lasting = soft_steps(band, blind_px)
    strength = _strengths(close, lasting, band, slopes, blind_px, trimmed)
    found: list[Track] = []
    lines: list[tuple[float, float]] = []
    for _ in range(40):
        k, row = (int(v) for v in np.unravel_index(int(np.argmax(strength)), strength.shape))
        top = float(strength[k, row])
        if top < LEAST_STRENGTH or len(found) == MOST_TRACKS:
            break
        slope, depth = float(slopes[k]), row - band.outside - 0.5
        if lines_out and is_drawn_line(band, depth, slope):
            lines.append((depth, slope))
        elif not any(_nearby(line, depth, slope, band) for line in lines):
            found.append(Track(depth, slope, top, _along(lasting, band, slope)[row]))
        # What is the same to within 5 px at its ends is the same track.
        same = np.abs(slopes - slope) * band.length_px / 2 < 5
        strength[same, max(row - 5, 0) : row + 6] = 0
    return found, lines


def _strengths(close: Floats, lasting: Floats, band: Band, slopes: Floats, blind_px: int, trimmed: int) -> Floats:
    """Strength (slopes, rows): close steps of the colours and the lasting one of texture."""
    both = np.concatenate([close[..., :3], lasting[..., 3:]], -1)
    strength = np.zeros((len(slopes), len(close)), np.float32)
    for k, slope in enumerate(slopes):
        mean = _along(both, band, float(slope), trimmed)
        strength[k] = np.sqrt((mean[:, :3] ** 2).sum(-1) + TEXTURE_SHARE * mean[:, 3] ** 2)
    strength[:, : band.outside + blind_px + 2] = 0
    strength[:, len(close) - GAP - LASTING :] = 0
    return strength


def _wiped(band: Band, depth_px: float, slope: float) -> Band:
    """The band with a drawn line replaced by what lies on its flanks."""
    values = band.values.copy()
    half = round(LINE_MM * band.px_per_mm + SPREAD_PX)
    centres = np.rint(band.outside + depth_px + slope * band.places * band.length_px).astype(int)
    share = np.linspace(0, 1, 2 * half + 1, dtype=np.float32)[:, None]
    for piece, centre in enumerate(centres):
        first, last = centre - half, centre + half
        if first < 3 or last + 4 > len(values):
            continue
        before, after = values[first - 3 : first, piece].mean(0), values[last + 1 : last + 4, piece].mean(0)
        values[first : last + 1, piece] = before + share * (after - before)
    return replace(band, values=values)


def _nearby(line: tuple[float, float], depth: float, slope: float, band: Band) -> bool:
    apart = abs(line[0] - depth) + abs(line[1] - slope) * band.length_px / 2
    return apart < LINE_REACH_MM * band.px_per_mm


def _shifted(values: Floats, band: Band, slope: float, rows: NDArray[np.intp] | None = None) -> Floats:
    """`rows` (all unless given) of `values` (depth, pieces, ...) brought level along a track of this slope."""
    shift = np.rint(slope * band.places * band.length_px).astype(int)
    rows = (np.arange(len(values)) if rows is None else rows)[:, None] + shift
    valid = (rows >= 0) & (rows < len(values))
    picked = values[np.clip(rows, 0, len(values) - 1), np.arange(PIECES)]
    return np.asarray(picked * valid[..., None], np.float32)


def _along(values: Floats, band: Band, slope: float, trimmed: int = TRIMMED) -> Floats:
    """Means over the pieces (depth, channels) along tracks of one slope, `trimmed` pieces left out at both ends."""
    if not trimmed:
        return _plain_along(values, band, slope)
    picked = _shifted(values, band, slope)
    picked = np.sort(picked, axis=1)[:, trimmed:-trimmed]
    return np.asarray(picked.mean(1), np.float32)


def _plain_along(values: Floats, band: Band, slope: float) -> Floats:
    """The same without trimming: pieces that are shifted alike are summed together."""
    shift = np.rint(slope * band.places * band.length_px).astype(int)
    first = np.concatenate([[0], np.flatnonzero(np.diff(shift)) + 1, [PIECES]])
    depth = len(values)
    total = np.zeros((depth, values.shape[2]), np.float32)
    for a, b in pairwise(first.tolist()):
        down = int(shift[a])
        low = min(max(-down, 0), depth)
        high = max(min(depth - down, depth), low)
        total[low:high] += values[low + down : high + down, a:b].sum(1)
    return total / np.float32(PIECES)


def is_drawn_line(band: Band, depth_px: float, slope: float) -> bool:
    """Whether along the track only a line is drawn: it stands out, and the same surface lies on both its flanks."""
    at = np.arange(len(band.values)) - band.outside - depth_px
    reach = LINE_MM * band.px_per_mm + SPREAD_PX
    beyond = reach + max(BEYOND_MM * band.px_per_mm, 6.0)
    rows = np.flatnonzero(np.abs(at) < beyond)
    at, profile = at[rows], medians(_shifted(band.values, band, slope, rows), axis=1)
    inner, outer, near = at > reach, at < -reach, np.abs(at) <= reach
    if inner.sum() < 2 or outer.sum() < 2 or near.sum() < 2:
        return False
    inside, outside = profile[inner].mean(0), profile[outer].mean(0)
    level = (inside[0] + outside[0]) / 2
    peak = float(np.abs(profile[near, 0] - level).max())
    step = np.abs(inside - outside)
    colour = max(2.5, 0.12 * peak)
    # A strong line's texture reaches further, and its neighbours on a ruled mat differ by chance.
    texture = max(0.9, peak / 45)
    return bool(peak > LINE_PEAK and step[0] < peak / 3.5 and step[3] < texture and (step[1:3] < colour).all())
