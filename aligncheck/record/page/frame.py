"""The picture in which two stages are compared: both, a line between them, clock numbers and a scale around."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Longest side of the picture in the SVG's own units, and the room around it.
FRAME, ROOM = 1000.0, 56.0
#: Length of the scale, mm: a round length of which some five fit on any panel.
SCALES_MM = (10, 20, 50, 100, 200)


def frame_svg(width_px: int, height_px: int, size_mm: tuple[float, float]) -> str:
    """The SVG without its pictures, which the script puts in from the stages' cards."""
    scale = FRAME / max(width_px, height_px)
    width, height = width_px * scale, height_px * scale
    box = f"{-ROOM:g} {-ROOM:g} {width + 2 * ROOM:.1f} {height + 2 * ROOM:.1f}"
    numbers = "".join(_number(hour, width, height) for hour in range(1, 13))
    image = f'x="0" y="0" width="{width:.1f}" height="{height:.1f}" preserveAspectRatio="none"'
    return (
        f'<svg class="compare" id="frame" viewBox="{box}" data-width="{width:.1f}" data-height="{height:.1f}" '
        'role="img" aria-labelledby="frame-words">'
        f'<defs><clipPath id="left"><rect x="0" y="0" width="{width / 2:.1f}" height="{height:.1f}"/></clipPath>'
        f'<clipPath id="right"><rect x="{width / 2:.1f}" y="0" width="{width / 2:.1f}" height="{height:.1f}"/>'
        "</clipPath></defs>"
        f'<g class="numbers">{numbers}</g>'
        f'<image id="image-now" {image} clip-path="url(#right)"/><image id="image-earlier" {image} '
        'clip-path="url(#left)"/>'
        '<path class="case" id="case-earlier" d=""/><path class="was" id="outline-earlier" d=""/>'
        '<path class="case" id="case-now" d=""/><path class="is" id="outline-now" d=""/>'
        f'<path class="split" id="split" d="M{width / 2:.1f} 0V{height:.1f}"/>'
        f"{_scale(height, size_mm)}</svg>"
    )


def outline_path(points_mm: Floats, size_mm: tuple[float, float]) -> str:
    """A closed outline (n, 2), mm in the common frame, as path data."""
    scale = FRAME / max(size_mm)
    points = points_mm * scale + np.array(size_mm) * scale / 2
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"


def _number(hour: int, width: float, height: float) -> str:
    """A clock number just outside the picture, on the ray from its middle."""
    angle = np.radians(30.0 * hour)
    way = np.array([np.sin(angle), -np.cos(angle)])
    half = np.array([width, height]) / 2
    with np.errstate(divide="ignore"):
        reach = float(np.min(np.where(np.abs(way) > 1e-9, half / np.maximum(np.abs(way), 1e-9), np.inf)))
    edge = half + way * reach
    x, y = edge + np.sign(np.round(way * reach / half, 6)) * (np.abs(np.round(way * reach / half, 6)) > 0.999) * 30.0
    bold = ' class="b"' if hour % 3 == 0 else ""
    return f'<text{bold} x="{x:.1f}" y="{y + 11:.1f}" text-anchor="middle">{hour}</text>'


def _scale(height: float, size_mm: tuple[float, float]) -> str:
    """Five boxes along the picture's lower edge, and their length on a plate."""
    mm = next((s for s in reversed(SCALES_MM) if s < max(size_mm) / 4), SCALES_MM[0])
    long = mm * FRAME / max(size_mm)
    y = height - 22
    boxes = "".join(
        f'<rect class="{"ink" if k % 2 == 0 else "bone"}" x="{14 + k * long / 5:.1f}" y="{y}" '
        f'width="{long / 5:.1f}" height="10"/>'
        for k in range(5)
    )
    plate = f'<rect class="plate" x="{22 + long:.1f}" y="{y - 17:.1f}" width="112" height="36" rx="6"/>'
    words = f'<text class="onplate" x="{78 + long:.1f}" y="{y + 10:.1f}" text-anchor="middle">{mm} mm</text>'
    return f'<rect class="bonerim" x="14" y="{y}" width="{long:.1f}" height="10"/>{boxes}{plate}{words}'
