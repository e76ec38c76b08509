"""Both photos in one frame: that of the earlier panel, by the marks that both show."""

from dataclasses import dataclass, replace

import numpy as np

from aligncheck.drift import Drift
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.marks import Marks
from aligncheck.panel import Panel
from aligncheck.placement.turns import turn_matrix
from aligncheck.together import tie
from aligncheck.together.match import common_frame, observe
from aligncheck.together.seen import see

#: What is left of the two maps once they are tied by the marks, and where they could not be tied, sd, mm.
TIED_SD_MM, UNTIED_SD_MM = 0.08, 0.25
#: Marks are the same where this share of what both photos measure agrees to this, mm: drawn anew by hand, a tenth does.
SAME_SHARE, SAME_MM = 0.6, 0.8
#: Fewer common numbers than this (two a spoke, three a ring) prove nothing.
FEWEST = 8


@dataclass(frozen=True)
class Common:
    """Panels of the earlier and the present photo, each in its own frame, quarter turns into the earlier one's, sd."""

    earlier: Panel
    now: Panel
    quarters: int
    sd_mm: float


def common_panels(earlier: Marks, now: Marks, name: str) -> Common:
    """Tie both photos; where one of the maps is off by more than it says, take both as they are, less sure.

    Raises
    ------
    CentrepieceError
        "other_panel" where the marks differ.
    """
    try:
        tied = tie([earlier, now], ["earlier", "now"])
    except InputError:
        return _untied(earlier, now, name)
    return Common(tied.panels[0], tied.panels[1], tied.quarters[1], TIED_SD_MM)


def _untied(earlier: Marks, now: Marks, name: str) -> Common:
    first, other = see(earlier), see(now)
    frame = common_frame([first])
    a = observe(frame, first)
    shares = []
    for quarters in range(4):
        b = observe(frame, other.turned(quarters))
        _, i, j = np.intersect1d(a.index, b.index, return_indices=True)
        agree = np.abs(a.numbers[i] - b.numbers[j]) < SAME_MM
        # What only one of them shows (chalk wiped, painted over) says nothing.
        shares.append(float(agree.mean()) if len(i) >= FEWEST else 0.0)
    best = int(np.argmax(shares))
    if shares[best] < SAME_SHARE:
        raise CentrepieceError("other_panel", file=name)
    return Common(earlier.panel, now.panel, best, UNTIED_SD_MM)


def in_frame_of(first: Drift, other: Drift, name: str) -> Drift:
    """`other` with its panel's map turned and tied into the frame of `first`, and the marks of `first`.

    Only what the photo shows of the panel is taken from `other`; where the marks lie, `first` says.
    """
    common = common_panels(first.marks, other.marks, name)
    turn = np.eye(3)
    turn[:2, :2] = turn_matrix(90.0 * common.quarters)
    panel = replace(common.now, photo_to_panel=turn @ common.now.photo_to_panel)
    if common.quarters % 2:
        panel = replace(panel, width_mm=common.now.height_mm, height_mm=common.now.width_mm)
    return replace(first, marks=replace(first.marks, panel=panel))
