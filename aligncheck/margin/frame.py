"""Frames: usual measures, and what a frame of given measures does to a panel.

Usual measures from framers' trade pages that agree (solidwoodframes.com, americanframe.com, blog.framedestination.com,
read November 2026; no standard was found): rebates 1/4 in wide, also 5/16, 3/8 and 1/2 in; 3/8 to 1/2 in deep, deep
frames 7/8 to 1 1/8 in; openings cut 1/8 in larger than the panel over all. Sizes that are sold ready made from
frames-n-photos.com (read November 2026). Frames differ: measure yours.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from aligncheck.margin.margin import Margin, SideMargin

INCH_MM = 25.4
#: Widths in use, the usual one first.
REBATE_WIDTHS_MM = tuple(INCH_MM * w for w in (1 / 4, 5 / 16, 3 / 8, 1 / 2))
USUAL_REBATE_MM = REBATE_WIDTHS_MM[0]
#: Depths: of usual frames, of deep ones.
USUAL_DEPTH_MM = (INCH_MM * 3 / 8, INCH_MM / 2)
DEEP_MM = (INCH_MM * 7 / 8, INCH_MM * 9 / 8)
#: How much larger than the panel the opening is cut, over all: the panel can lie that far to one side.
PLAY_MM = INCH_MM / 8
#: Panels that ready-made frames are sold for, inches, the shorter side first.
READY_MADE_IN: tuple[tuple[float, float], ...] = (
    (3.5, 5), (4, 6), (5, 7), (7, 9), (8, 10), (8.5, 11), (9, 12), (10, 13), (11, 14), (12, 16), (14, 18), (16, 20),
    (18, 24), (20, 24), (20, 26), (22, 28), (24, 30), (24, 36), (26, 36), (32, 40),
)  # fmt: skip
#: A panel fits a size that it comes so near to, mm: half of the frame's play.
SAME_SIZE_MM = PLAY_MM / 2
#: Framers' glass is 2 mm thick as a rule, 2.5 mm at most.
GLASS_MM = 2.5

Verdict = Literal["free", "hides", "unsure"]


@dataclass(frozen=True)
class Frame:
    """A frame: how far its rebate reaches over the panel, how deep it is, whether glass goes in.

    `assumed` where nobody told the rebate and the usual one is taken.
    """

    rebate_mm: float = USUAL_REBATE_MM
    depth_mm: float | None = None
    glass: bool = False
    assumed: bool = False


def beside_frame(side: SideMargin, rebate_mm: float) -> float:
    """What stays visible between the frame and the design on one side, mm, the panel pushed fully under it."""
    return side.margin_mm - rebate_mm


def verdict(side: SideMargin, rebate_mm: float) -> Verdict:
    """Whether the frame hides part of the design on one side."""
    spare = beside_frame(side, rebate_mm)
    if spare + side.u95_mm < 0:
        return "hides"
    return "free" if spare - side.u95_mm >= 0 else "unsure"


def worst_side(margin: Margin) -> SideMargin:
    """The side with the least margin."""
    return min(margin.sides, key=lambda side: side.margin_mm)


def opening_mm(width_mm: float, height_mm: float) -> tuple[float, float]:
    """Width and height that a framer cuts the opening to."""
    return width_mm + PLAY_MM, height_mm + PLAY_MM


def room_askew(diagonals_mm: float, width_mm: float, height_mm: float) -> float:
    """How much wider, or higher, a rectangle must be, mm, to take a panel whose diagonals differ by so much.

    Leaning by s over its height H, a panel of width W has diagonals that differ by 2 W s / (W² + H²)^½, and needs s
    more of width; turned, by its other sides. The less of both.
    """
    return abs(diagonals_mm) * float(np.hypot(width_mm, height_mm)) / (2 * max(width_mm, height_mm))


def sight_mm(width_mm: float, height_mm: float, rebate_mm: float) -> tuple[float, float]:
    """Width and height that stay in sight."""
    wide, high = opening_mm(width_mm, height_mm)
    return wide - 2 * rebate_mm, high - 2 * rebate_mm


def ready_made(width_mm: float, height_mm: float) -> tuple[float, float] | None:
    """The size in inches, turned as the panel stands, of the ready-made frame that takes the panel, or None."""
    for short, long in READY_MADE_IN:
        for wide, high in ((short, long), (long, short)):
            if max(abs(wide * INCH_MM - width_mm), abs(high * INCH_MM - height_mm)) <= SAME_SIZE_MM:
                return wide, high
    return None


def needed_depth(panel_mm: float, piece_mm: float, glass: bool) -> float:
    """Depth of rebate, mm, that panel, what stands on it and glass take."""
    return panel_mm + piece_mm + (GLASS_MM if glass else 0.0)
