"""Charts as inline SVG; their colours are the page's classes, so that they follow light and dark."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np

from aligncheck.record.history import SpokeHistory
from aligncheck.record.worst import Worst

#: Room around the plot: left for figures, right for names, above, below for stage numbers and kinds.
LEFT, TOP, BELOW = 34.0, 26.0, 40.0
RIGHT_WORST, RIGHT_SPOKES = 14.0, 104.0
HEIGHT = 250.0
#: Stage numbers closer than this run into each other, px.
LEAST_STEP = 22.0
#: Names at the right need this much from one to the next, px.
LINE = 17.0


@dataclass(frozen=True)
class Plot:
    """Where values lie in a chart `width` wide: stages from left to right, mm upward from `low` to `high`."""

    width: float
    right: float
    count: int
    low: float
    high: float

    def x(self, index: int) -> float:
        """Of a stage."""
        room = self.width - LEFT - self.right
        return LEFT + room * (index + 0.5) / self.count

    def y(self, mm: float) -> float:
        """Of a value."""
        return TOP + (HEIGHT - TOP - BELOW) * (self.high - mm) / (self.high - self.low)

    def grid(self) -> list[str]:
        """Lines with their figures, and the stages' numbers as far as there is room."""
        step = _step(self.high - self.low)
        parts = []
        for k in range(int(np.ceil(self.low / step - 1e-9)), int(np.floor(self.high / step + 1e-9)) + 1):
            y = self.y(k * step)
            parts.append(_line(LEFT, y, self.width - self.right, y, "axis" if k == 0 else "grid"))
            parts.append(_text(LEFT - 8, y + 5, f"{k * step:g}".replace("-", "−"), "end"))
        every = max(1, int(np.ceil(LEAST_STEP * self.count / (self.width - LEFT - self.right))))
        parts += [_text(self.x(i), HEIGHT - BELOW + 20, str(i + 1), "middle", "b") for i in range(0, self.count, every)]
        return parts

    def band(self, tolerance_mm: float) -> str:
        """What is within the tolerance."""
        top, bottom = self.y(tolerance_mm), self.y(max(-tolerance_mm, self.low))
        width = self.width - LEFT - self.right
        return f'<rect class="band" x="{LEFT:g}" y="{top:.1f}" width="{width:.1f}" height="{bottom - top:.1f}"/>'


def worst_chart(worst: Sequence[Worst | None], tolerance_mm: float, width: float, title: str) -> str:
    """The worst difference of each stage with its interval; a line joins neighbours of one kind."""
    high = max([w[1] + w[2] for w in worst if w] + [1.5 * tolerance_mm]) * 1.12
    plot = Plot(width, RIGHT_WORST, len(worst), 0.0, high)
    parts = [_text(LEFT - 8, 14, "mm", "end"), plot.band(tolerance_mm), *plot.grid()]
    known = [(k, w) for k, w in enumerate(worst) if w]
    close = plot.x(1) - plot.x(0) < 2 * LEAST_STEP if len(worst) > 1 else False
    for (k, a), (n, b) in pairwise(known):
        if a[0] == b[0]:
            parts.append(_line(plot.x(k), plot.y(a[1]), plot.x(n), plot.y(b[1]), "join"))
    for k, (kind, mm, u95, verdict) in known:
        x, y = plot.x(k), plot.y(mm)
        if not close:
            top, bottom = plot.y(mm + u95), plot.y(max(mm - u95, 0.0))
            parts += [_line(x, top, x, bottom, "whisker")]
            parts += [_line(x - 5, end, x + 5, end, "whisker") for end in (top, bottom)]
            parts.append(_text(x, top - 7, f"{mm:.1f}", "middle", "b"))
            parts.append(_text(x, HEIGHT - 4, kind, "middle"))
        parts.append(_mark(x, y, verdict, 3.0 if close else 6.0))
    return _svg(width, title, parts)


def spoke_chart(histories: Sequence[SpokeHistory], tolerance_mm: float, width: float, title: str) -> str:
    """Every spoke's move over the stages; those that ever had to move stand out and are named at the right."""
    points = [p for h in histories for p in h.points if p and p.whole]
    reach = max([abs(p.move_mm) for p in points] + [1.5 * tolerance_mm]) * 1.1
    count = len(histories[0].points)
    plot = Plot(width, RIGHT_SPOKES, count, -reach, reach)
    parts = [_text(LEFT - 8, 14, "mm", "end"), plot.band(tolerance_mm), *plot.grid()]
    loud = [h for h in histories if any(p and p.whole and p.verdict == "out" for p in h.points)]
    for history in [*(h for h in histories if h not in loud), *loud]:
        seen = [(k, p) for k, p in enumerate(history.points) if p and p.whole]
        path = " ".join(f"{plot.x(k):.1f},{plot.y(p.move_mm):.1f}" for k, p in seen)
        kind = "loud" if history in loud else "soft"
        parts.append(f'<polyline class="{kind}" points="{path}"/>')
        if history in loud and count <= width / LEAST_STEP:
            parts += [_mark(plot.x(k), plot.y(p.move_mm), p.verdict, 5.0) for k, p in seen]
    parts += _names(loud, plot)
    return _svg(width, title, parts)


def _names(histories: Sequence[SpokeHistory], plot: Plot) -> list[str]:
    """The places' names beside the ends of their lines, spread so that none covers another."""
    last = [next(p for p in reversed(h.points) if p and p.whole) for h in histories]
    ends = sorted((plot.y(point.move_mm), h.place) for point, h in zip(last, histories, strict=True))
    wanted = [y for y, _ in ends]
    for _ in range(50):
        for k in range(1, len(wanted)):
            lack = LINE - (wanted[k] - wanted[k - 1])
            if lack > 0:
                wanted[k - 1], wanted[k] = wanted[k - 1] - lack / 2, wanted[k] + lack / 2
    x = plot.width - plot.right + 6
    return [_text(x, y + 5, name, "start", "b") for y, (_, name) in zip(wanted, ends, strict=True)]


def _mark(x: float, y: float, verdict: str, size: float) -> str:
    """Filled round: move. Diamond: too close to call. Hollow round: fits."""
    if verdict == "unsure":
        d = 1.25 * size
        return f'<path class="hollow" d="M{x:.1f} {y - d:.1f}l{d:g} {d:g}l{-d:g} {d:g}l{-d:g} {-d:g}z"/>'
    kind = "act" if verdict == "out" else "hollow"
    return f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="{size:g}"/>'


def _step(span: float) -> float:
    """Mm from line to line: 1, 2 or 5 times a power of ten, some five of them."""
    rough = span / 5
    power = 10.0 ** np.floor(np.log10(rough))
    return float(min((m * power for m in (1, 2, 5, 10)), key=lambda s: abs(s - rough)))


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _text(x: float, y: float, words: str, anchor: str, kind: str = "") -> str:
    style = f' class="{kind}"' if kind else ""
    return f'<text{style} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _svg(width: float, title: str, parts: Sequence[str]) -> str:
    inside = "".join(parts)
    return (
        f'<svg class="chart" viewBox="0 0 {width:g} {HEIGHT:g}" role="img" aria-label="{escape(title, quote=True)}">'
        f"{inside}</svg>"
    )
