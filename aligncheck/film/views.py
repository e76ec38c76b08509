"""Stages as pictures in one frame: same scale, same turn, light evened."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.film.light import Light, even_light, see_light
from aligncheck.film.register import Registration, register
from aligncheck.film.share import shared
from aligncheck.film.turned import likely_quarters

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

#: Longest side of what the light and the turn are told from.
LOOK_PX = 300
#: JPEGs can be decoded at a fraction of their size, in a fraction of the time.
REDUCED = ((8, cv2.IMREAD_REDUCED_COLOR_8), (4, cv2.IMREAD_REDUCED_COLOR_4), (2, cv2.IMREAD_REDUCED_COLOR_2))
#: So much of the panel's edge is left out: it is rounded, often chipped, and table shows beside it, mm.
INSET_MM = 0.8
#: Ground around a photo that has no flat view.
GROUND = (21, 19, 15)


@dataclass(frozen=True)
class Source:
    """A stage's picture on disk: its flat view with its figures, or another picture of it without."""

    picture: Path
    result: Mapping[str, Any] | None


@dataclass(frozen=True)
class View:
    """One stage in the common frame; `laid` is None where there is no flat view, or no picture at all."""

    source: Source
    laid: Registration | None = None
    light: Light | None = None


@dataclass(frozen=True)
class Views:
    """All stages in the frame of the first that has a flat view, of which `size_mm` (width, height) are shown."""

    views: tuple[View, ...]
    size_mm: tuple[float, float]
    level: Floats
    kept: dict[int, bytes] = field(default_factory=dict, compare=False)

    def size_px(self, edge_px: int) -> tuple[int, int]:
        """Width and height of a picture whose longest side is `edge_px`."""
        scale = edge_px / max(self.size_mm)
        return max(1, round(self.size_mm[0] * scale)), max(1, round(self.size_mm[1] * scale))

    def keep(self, index: int, jpeg: bytes) -> None:
        """Keep a stage's picture as a JPEG: smaller ones are then made from it, not from the disk anew."""
        self.kept[index] = jpeg

    def picture(self, index: int, edge_px: int, even: bool = True) -> Bytes:
        """One stage (h, w, 3), its longest side `edge_px`; plain ground where its picture cannot be read."""
        view, size = self.views[index], self.size_px(edge_px)
        if even and index in self.kept:
            kept = _decoded(np.frombuffer(self.kept[index], np.uint8))
            if kept is not None and max(kept.shape[:2]) >= max(size):
                return np.asarray(cv2.resize(kept, size, interpolation=cv2.INTER_AREA), np.uint8)
        rgb = _read(view.source.picture, edge_px)
        if rgb is None:
            return np.full((size[1], size[0], 3), GROUND, np.uint8)
        if view.laid is None or not view.source.result:
            return _contained(rgb, size)
        flat = _laid(rgb, view.laid, _size_mm(view.source.result), self.size_mm, size)
        return even_light(flat, view.light, self.level) if even and view.light is not None else flat


def gather(sources: Sequence[Source], step: Callable[[], None] = lambda: None) -> Views:
    """Register every stage to the first and see how its light falls; `step` is called after each."""
    looks = ((s.result, _read(s.picture, LOOK_PX)) for s in sources if s.result)
    first, look = next(((result, small) for result, small in looks if small is not None), (None, None))
    views = []
    for view in shared(lambda source: _view(source, first, look), sources):
        views.append(view)
        step()
    levels = [v.light.level for v in views if v.light is not None]
    level = np.median(levels, axis=0) if levels else np.zeros(3)
    return Views(tuple(views), _seen_mm(first) if first else (1.0, 1.0), level)


def _view(source: Source, first: Mapping[str, Any] | None, look: Bytes | None) -> View:
    """One stage, laid onto the first that has a flat view, which looks like `look`."""
    small = _read(source.picture, LOOK_PX) if source.result else None
    if not source.result or small is None or first is None or look is None:
        return View(source)
    laid = register(source.result, first, likely_quarters(small, look))
    size = _seen_mm(first)
    scale = LOOK_PX / max(size)
    flat = _laid(small, laid, _size_mm(source.result), size, (round(size[0] * scale), round(size[1] * scale)))
    return View(source, laid, see_light(flat))


def _size_mm(result: Mapping[str, Any]) -> tuple[float, float]:
    """Width and height of the panel."""
    return float(result["panel"]["width_mm"]), float(result["panel"]["height_mm"])


def _seen_mm(result: Mapping[str, Any]) -> tuple[float, float]:
    """Width and height of what is shown of it."""
    width_mm, height_mm = _size_mm(result)
    return width_mm - 2 * INSET_MM, height_mm - 2 * INSET_MM


def _read(path: Path, edge_px: int) -> Bytes | None:
    """A picture, decoded at the least size that is still `edge_px` large; None where it cannot be read."""
    try:
        data = np.frombuffer(path.read_bytes(), np.uint8)
    except OSError:
        return None
    if not len(data):
        return None
    longest = _longest_side(path)
    flag = cv2.IMREAD_COLOR
    for times, reduced in REDUCED:
        if longest >= times * edge_px:
            flag = reduced
            break
    return _decoded(data, flag)


def _decoded(data: Bytes, flag: int = cv2.IMREAD_COLOR) -> Bytes | None:
    bgr = cv2.imdecode(data, flag)
    return None if bgr is None else np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8)


def _longest_side(path: Path) -> int:
    from PIL import Image

    try:
        with Image.open(path) as picture:
            return max(picture.size)
    except (OSError, Image.DecompressionBombError):
        return 0


def _laid(
    rgb: Bytes, laid: Registration, own_mm: tuple[float, float], size_mm: tuple[float, float], size_px: tuple[int, int]
) -> Bytes:
    """A flat view of a panel `own_mm` large in the common frame of `size_mm`, as a picture of `size_px`."""
    width_mm, height_mm = own_mm
    height, width = rgb.shape[:2]
    scale = size_px[0] / size_mm[0]
    shrunk = scale * width_mm / width
    if shrunk < 0.9:
        # Averaged down first, or fine lines would flicker from stage to stage.
        width, height = max(1, round(width * shrunk)), max(1, round(height * shrunk))
        rgb = np.asarray(cv2.resize(rgb, (width, height), interpolation=cv2.INTER_AREA), np.uint8)
    from_px = np.array([[width_mm / width, 0, (0.5 / width - 0.5) * width_mm],
                        [0, height_mm / height, (0.5 / height - 0.5) * height_mm], [0, 0, 1.0]])  # fmt: skip
    to_px = np.array([[scale, 0, (size_px[0] - 1) / 2], [0, scale, (size_px[1] - 1) / 2], [0, 0, 1.0]])
    matrix = to_px @ laid.matrix @ from_px
    picture = cv2.warpPerspective(rgb, matrix, size_px, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(picture, np.uint8)


def _contained(rgb: Bytes, size_px: tuple[int, int]) -> Bytes:
    """A picture as large as fits, on plain ground."""
    height, width = rgb.shape[:2]
    scale = min(size_px[0] / width, size_px[1] / height)
    small = cv2.resize(rgb, (max(1, round(width * scale)), max(1, round(height * scale))), interpolation=cv2.INTER_AREA)
    canvas = np.full((size_px[1], size_px[0], 3), GROUND, np.uint8)
    top, left = (size_px[1] - small.shape[0]) // 2, (size_px[0] - small.shape[1]) // 2
    canvas[top : top + small.shape[0], left : left + small.shape[1]] = small
    return canvas
