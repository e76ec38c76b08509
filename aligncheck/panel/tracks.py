"""Straight tracks along which the picture steps, inside a rectified outline."""

from typing import NamedTuple

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


class Track(NamedTuple):
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
            found.append(Track(depth, slope, top, _level_at(lasting, band, slope, row)))
        # What is the same to within 5 px at its ends is the same track.
        same = np.abs(slopes - slope) * band.length_px / 2 < 5
        strength[same, max(row - 5, 0) : row + 6] = 0
    return found, lines


def _strengths(close: Floats, lasting: Floats, band: Band, slopes: Floats, blind_px: int, trimmed: int) -> Floats:
    """Strength (slopes, rows): close steps of the colours and the lasting one of texture."""
    both = np.concatenate([close[..., :3], lasting[..., 3:]], -1)
    if trimmed:
        means = np.moveaxis(np.array([_along(both, band, float(slope), trimmed) for slope in slopes]), -1, 0)
    else:
        means = _plain_along(both, band, slopes)
    strength = np.sqrt((means[:3] ** 2).sum(0) + TEXTURE_SHARE * means[3] ** 2)
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
    return band._replace(values=values)


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


def _along(values: Floats, band: Band, slope: float, trimmed: int, rows: NDArray[np.intp] | None = None) -> Floats:
    """Means over the pieces (depth, channels) along tracks of one slope, `trimmed` pieces left out at both ends."""
    picked = np.sort(_shifted(values, band, slope, rows), axis=1)[:, trimmed:-trimmed]
    return np.asarray(picked.mean(1), np.float32)


def _level_at(values: Floats, band: Band, slope: float, row: int) -> Floats:
    """The same (channels,) along the one track through `row`."""
    return _along(values, band, slope, TRIMMED, np.array([row]))[0]


def _plain_along(values: Floats, band: Band, slopes: Floats) -> Floats:
    """Means (channels, slopes, depth) without trimming, along tracks of all slopes at once."""
    depth = len(values)
    shift = np.rint(slopes[:, None] * band.places * band.length_px).astype(int)
    rows = np.arange(depth)[:, None] + shift[:, None]
    # What lies beyond the band counts as nothing: row `depth` of the padded values.
    at = np.where((rows >= 0) & (rows < depth), rows, depth) * PIECES + np.arange(PIECES)
    padded = np.zeros((values.shape[2], depth + 1, PIECES), np.float32)
    padded[:, :depth] = values.transpose(2, 0, 1)
    picked = np.take(padded.reshape(len(padded), -1), at, axis=1)
    return np.asarray(picked.sum(-1) / np.float32(PIECES), np.float32)


def is_drawn_line(band: Band, depth_px: float, slope: float) -> bool:
    """Whether along the track only a line is drawn: it stands out, and the same surface lies on both its flanks."""
    at = np.arange(len(band.values)) - band.outside - depth_px
    reach = LINE_MM * band.px_per_mm + SPREAD_PX
    beyond = reach + max(BEYOND_MM * band.px_per_mm, 6.0)
    rows = np.flatnonzero(np.abs(at) < beyond)
    at = at[rows]
    inner, outer, near = at > reach, at < -reach, np.abs(at) <= reach
    if inner.sum() < 2 or outer.sum() < 2 or near.sum() < 2:
        return False
    luminance = medians(_shifted(band.values[..., :1], band, slope, rows), axis=1)[:, 0]
    inside, outside = luminance[inner].mean(), luminance[outer].mean()
    peak = float(np.abs(luminance[near] - (inside + outside) / 2).max())
    if peak <= LINE_PEAK or abs(inside - outside) >= peak / 3.5:
        return False
    others = medians(_shifted(band.values[..., 1:], band, slope, rows), axis=1)
    step = np.abs(others[inner].mean(0) - others[outer].mean(0))
    # A strong line's texture reaches further, and its neighbours on a ruled mat differ by chance.
    return bool((step[:2] < max(2.5, 0.12 * peak)).all() and step[2] < max(0.9, peak / 45))
