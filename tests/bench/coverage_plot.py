"""The coverage table as a picture: for each figure and condition, claim against scatter and the share that holds."""

from html import escape
from typing import Protocol

from tests.closeness import least_held

WIDTH, LEFT, LINE = 900, 250, 18
#: The axis of the share that holds, and of scatter over claim.
HELD_FROM, RATIO_TO = 0.6, 3.0


class Row(Protocol):
    """What is drawn of a row."""

    case: str
    figure: str
    count: int
    rms_error: float
    rms_claim: float
    held: float


def plot(rows: list[Row]) -> str:
    """An SVG: left, shares that hold (line at 95 %); right, rms error over rms claim (line at 1)."""
    half = (WIDTH - LEFT - 40) / 2
    shown = sorted(rows, key=lambda r: (r.figure, r.case != "all", r.case))
    height = LINE * (len(shown) + 3)
    right = LEFT + half + 30
    body = [
        _text(LEFT, 14, "share of 95 % intervals that hold"),
        _text(right, 14, "rms error / rms claim"),
        _line(_held_x(0.95, half), height),
        _line(right + half / RATIO_TO, height),
    ]
    for k, r in enumerate(shown):
        y = LINE * (k + 2) + 8
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
    return f'<line x1="{x:.1f}" x2="{x:.1f}" y1="22" y2="{height - 6}" stroke="#999999" stroke-dasharray="3 3"/>'


def _dot(x: float, y: float, fill: str) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{fill}" stroke="#0b6e99" stroke-width="1.6"/>'
