"""Outlines of what is drawn, as polygons (n, 2) in pixels: x right, y down, whole numbers are pixel centres."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def unit(vector: ArrayLike) -> Floats:
    """`vector` (..., 2) at length 1; up where it has none."""
    v = np.asarray(vector, float)
    length = np.hypot(v[..., 0], v[..., 1])[..., None]
    return np.where(length > 0, v / np.where(length > 0, length, 1.0), (0.0, -1.0))


def circle(centre: ArrayLike, radius: float) -> Floats:
    """A circle as a polygon whose sides stay within a tenth of a pixel of it."""
    n = max(12, int(np.ceil(np.pi / np.arccos(1 - 0.1 / max(radius, 0.5)))))
    a = np.arange(n) * (2 * np.pi / n)
    return np.asarray(centre, float) + radius * np.column_stack([np.cos(a), np.sin(a)])


def along(path: ArrayLike) -> Floats:
    """Distance (n,) from the start of `path` (n, 2) to each of its points."""
    steps = np.hypot(*np.diff(np.asarray(path, float), axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def piece(path: ArrayLike, start: float, stop: float) -> Floats:
    """The part of `path` between two distances along it."""
    p = np.asarray(path, float)
    s = along(p)
    inner = s[(s > start) & (s < stop)]
    where = np.concatenate([[start], inner, [stop]])
    return np.column_stack([np.interp(where, s, p[:, k]) for k in (0, 1)])


def ribbon(path: ArrayLike, width: float) -> Floats:
    """A band of `width` along `path` with butt ends."""
    p = np.asarray(path, float)
    direction = np.gradient(p, axis=0)
    direction /= np.maximum(np.hypot(*direction.T)[:, None], 1e-9)
    side = np.column_stack([-direction[:, 1], direction[:, 0]]) * (width / 2)
    return np.vstack([p + side, (p - side)[::-1]])


def dashes(path: ArrayLike, on: float, off: float, width: float, longer: float = 0.0) -> Floats:
    """Butt-ended dashes (n, 4, 2) along `path`, each `longer` at both ends; it begins and ends with one."""
    p = np.asarray(path, float)
    s = along(p)
    length = float(s[-1])
    if length <= 0:
        return np.empty((0, 4, 2))
    number = max(1, round((length + off) / (on + off)))
    # The gaps give way, so that the line ends with a whole dash.
    step = (length - on) / (number - 1) if number > 1 else 0.0
    on = min(on, length)
    starts = np.arange(number) * step
    # Each dash is so short that it runs straight, from where it starts on the path to where it ends.
    marks = np.clip([starts - longer, starts + on + longer], 0.0, length)
    tail, tip = (np.column_stack([np.interp(m, s, p[:, k]) for k in (0, 1)]) for m in marks)
    ahead = (tip - tail) / np.maximum(np.hypot(*(tip - tail).T), 1e-9)[:, None]
    side = np.column_stack([-ahead[:, 1], ahead[:, 0]]) * (width / 2)
    return np.stack([tail + side, tip + side, tip - side, tail - side], axis=1)


def arrow(path: ArrayLike, shaft: float, head_long: float, head_wide: float) -> Floats:
    """An arrow that follows `path` and ends in a point at its end; a short one keeps its head and loses its shaft."""
    length = float(along(path)[-1])
    head_long = min(head_long, 0.75 * length)
    body = piece(path, 0, length - head_long)
    neck, tip = body[-1], np.asarray(path, float)[-1]
    ahead = unit(tip - neck)
    side = np.array([-ahead[1], ahead[0]]) * (head_wide / 2)
    edge = ribbon(body, shaft)
    half = len(body)
    return np.vstack([edge[:half], neck + side, tip, neck - side, edge[half:]])


def rounded(box: tuple[float, float, float, float], radius: float) -> Floats:
    """A box (left, top, right, bottom) with round corners."""
    left, top, right, bottom = box
    a = np.linspace(0, np.pi / 2, 7)
    corners = ((right, bottom, 0.0), (left, bottom, 0.5), (left, top, 1.0), (right, top, 1.5))
    turns = [a + quarter * np.pi for _, _, quarter in corners]
    middles = [
        (x - np.sign(x - (left + right) / 2) * radius, y - np.sign(y - (top + bottom) / 2) * radius)
        for x, y, _ in corners
    ]
    return np.vstack(
        [m + radius * np.column_stack([np.cos(t), np.sin(t)]) for m, t in zip(middles, turns, strict=True)]
    )
