"""The coverage table as a picture: for each figure and condition, claim against scatter and the share that holds."""

from html import escape
from typing import Protocol

from tests.closeness import least_held

WIDTH, LEFT, LINE = 900, 250, 18
#: The axis of the share that holds, and of scatter over claim.
HELD_FROM, RATIO_TO = 0.6, 3.0
#: Shares that are as they should be, and those that the axis names.
GOOD, NAMED = (0.92, 0.98), (0.6, 0.8, 0.95)


class Row(Protocol):
    """What is drawn of a row."""

    case: str
    figure: str
    count: int
    rms_error: float
    rms_claim: float
    held: float


def plot(rows: list[Row]) -> str:
    """An SVG: left, shares that hold (line at 95 %, band of the good ones); right, rms error over rms claim."""
    half = (WIDTH - LEFT - 40) / 2
    shown = sorted(rows, key=lambda r: (r.figure, r.case != "all", r.case))
    height = LINE * (len(shown) + 4)
    right = LEFT + half + 30
    band = f'<rect x="{_held_x(GOOD[0], half):.1f}" y="40" width="{half * (GOOD[1] - GOOD[0]) / (1 - HELD_FROM):.1f}"'
    body = [
        f'{band} height="{height - 46}" fill="#e8f1f5"/>',
        _text(LEFT, 14, "share of 95 % intervals that hold"),
        _text(right, 14, "rms error / rms claim"),
        *(_text(_held_x(share, half) - 12, 32, f"{share:.0%}") for share in NAMED),
        *(_text(right + half * k / RATIO_TO - 3, 32, str(k)) for k in range(int(RATIO_TO) + 1)),
        _line(_held_x(0.95, half), height),
        _line(right + half / RATIO_TO, height),
    ]
    for k, r in enumerate(shown):
        y = LINE * (k + 3) + 8
        weight = "bold" if r.case == "all" else "normal"
        # Filled: as many hold as should; open: fewer than chance allows.
        good = r.held * r.count >= least_held(r.count) - 1e-9
        fill = "#0b6e99" if good else "#ffffff"
        ratio = min(r.rms_error / r.rms_claim if r.rms_claim else RATIO_TO, RATIO_TO)
        body += [
            _text(8, y + 4, f"{r.figure}  {r.case}  ({r.count})", weight),
            _dot(_held_x(max(r.held, HELD_FROM), half), y, fill),
            _dot(right + half * ratio / RATIO_TO, y, "#0b6e99" if ratio <= 1.25 else "#ffffff"),
        ]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" font-family="sans-serif">'
    return "\n".join([head, f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>', *body, "</svg>"]) + "\n"


def _held_x(held: float, half: float) -> float:
    return LEFT + half * (held - HELD_FROM) / (1 - HELD_FROM)


def _text(x: float, y: float, words: str, weight: str = "normal") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="12" font-weight="{weight}">{escape(words)}</text>'


def _line(x: float, height: float) -> str:
    return f'<line x1="{x:.1f}" x2="{x:.1f}" y1="40" y2="{height - 6}" stroke="#999999" stroke-dasharray="3 3"/>'


def _dot(x: float, y: float, fill: str) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{fill}" stroke="#0b6e99" stroke-width="1.6"/>'
