"""Light that falls unevenly on a photo already taken: what a lamp, a window, an arm do to it."""

from collections.abc import Callable

import numpy as np

from aligncheck.panel import Panel

Floats = np.ndarray
Change = Callable[[np.ndarray, Panel], np.ndarray]


def _lit(field: Callable[[Floats, Floats], Floats], add: Callable[[Floats, Floats], Floats] | None = None) -> Change:
    """`field` of x and y over the panel's half-width, by which linear light is multiplied; `add` is added."""

    def change(rgb: np.ndarray, panel: Panel) -> np.ndarray:
        h, w = rgb.shape[:2]
        corners = panel.corners_px
        low, high = corners.min(0), corners.max(0)
        middle, half = (low + high) / 2, (high - low) / 2
        x = ((np.arange(w) - middle[0]) / half[0])[None, :]
        y = ((np.arange(h) - middle[1]) / half[1])[:, None]
        factor = field(x, y)
        factor = factor if factor.ndim == 3 else factor[..., None]
        codes = rgb / np.float32(255)
        light = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4) * factor
        if add is not None:
            light = light + add(x, y)[..., None]
        light = np.clip(light, 0, 1)
        codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        return np.round(255 * codes).astype(np.uint8)

    return change


def _step(t: Floats) -> Floats:
    u = np.clip(t, 0, 1)
    return u * u * (3 - 2 * u)


def _warm_cool(x: Floats, y: Floats) -> Floats:
    t = _step((x + 0.4 * y + 1.4) / 2.8)[..., None]
    return np.array([1.15, 0.95, 0.6]) * t + np.array([0.7, 0.9, 1.05]) * (1 - t)


LIGHTS: dict[str, Change | None] = {
    "as taken": None,
    "2:1 across": _lit(lambda x, y: 2 / 3 * (1 + x / 3) + 0 * y),
    "4:1 across": _lit(lambda x, y: 0.625 * (1 + 0.6 * x) + 0 * y),
    "2:1 aslant": _lit(lambda x, y: 2 / 3 * (1 + (x + y) / 6)),
    "vignette": _lit(lambda x, y: 1 - 0.35 * np.clip(x**2 + y**2, 0, 2)),
    "near lamp": _lit(lambda x, y: 1.1 / (1 + 0.6 * ((x + 0.9) ** 2 + (y + 0.7) ** 2))),
    "window's glow": _lit(
        lambda x, y: 0.8 + 0 * x + 0 * y, lambda x, y: 0.08 * np.exp(-((x + 1.1) ** 2) / 0.8) + 0 * y
    ),
    "warm and cool": _lit(_warm_cool),
    "arm's shadow": _lit(lambda x, y: 1 - 0.5 * _step((x - 0.25 + 0.2 * y) / 0.3 + 0.5)),
    "arm across": _lit(lambda x, y: 1 - 0.5 * np.exp(-(((x - 0.3 + 0.5 * y) / 0.3) ** 4))),
}
