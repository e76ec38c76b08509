"""All photos in one frame: that of the earlier panel, by the marks that they share."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from aligncheck.drift import Drift
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.marks import Marks
from aligncheck.panel import Panel
from aligncheck.placement.turns import turn_matrix
from aligncheck.together import tie
from aligncheck.together.match import Observed, common_frame, observe
from aligncheck.together.seen import see

#: What is left of the two maps once they are tied by the marks, and where they could not be tied, sd, mm.
TIED_SD_MM, UNTIED_SD_MM = 0.08, 0.25
#: Marks are the same where this share of what both photos measure agrees to this, mm: drawn anew by hand, a tenth does.
SAME_SHARE, SAME_MM = 0.6, 0.8
#: Fewer common numbers than this (two a spoke, three a ring) prove nothing.
FEWEST = 8


@dataclass(frozen=True)
class Common:
    """Panels of all photos, each in its own frame, the first photo's first; quarter turns into the first one's, sd."""

    panels: tuple[Panel, ...]
    quarters: tuple[int, ...]
    sd_mm: float


def common_panels(photos: Sequence[Marks], names: Sequence[str]) -> Common:
    """Tie photos of one panel; where one of the maps is off by more than it says, take all as they are, less sure.

    Parameters
    ----------
    names : sequence of str
        Of the photo to name where one shows other marks than the first.

    Raises
    ------
    CentrepieceError
        "other_panel" where the marks of one differ from the first one's.
    """
    try:
        tied = tie(photos, names)
    except InputError:
        return _untied(photos, names)
    if tied.used != tuple(range(len(photos))):
        return _untied(photos, names)
    return Common(tied.panels, tied.quarters, TIED_SD_MM)


def _untied(photos: Sequence[Marks], names: Sequence[str]) -> Common:
    """All panels as measured; the turn of each by the marks that it shares with the first."""
    first = see(photos[0])
    frame = common_frame([first])
    own = observe(frame, first)
    quarters = [0]
    for marks, name in zip(photos[1:], names[1:], strict=True):
        shares = [_share_alike(own, observe(frame, see(marks).turned(turn))) for turn in range(4)]
        quarters.append(int(np.argmax(shares)))
        if max(shares) < SAME_SHARE:
            raise CentrepieceError("other_panel", file=name)
    return Common(tuple(m.panel for m in photos), tuple(quarters), UNTIED_SD_MM)


def _share_alike(a: Observed, b: Observed) -> float:
    """Share of the numbers in both that agree; what only one of them shows (chalk wiped, painted over) says nothing."""
    _, i, j = np.intersect1d(a.index, b.index, return_indices=True)
    return float((np.abs(a.numbers[i] - b.numbers[j]) < SAME_MM).mean()) if len(i) >= FEWEST else 0.0


def in_frame_of(first: Drift, other: Drift, name: str) -> Drift:
    """`other` with its panel's map turned and tied into the frame of `first`, and the marks of `first`.

    Only what the photo shows of the panel is taken from `other`; where the marks lie, `first` says.
    """
    common = common_panels([first.marks, other.marks], ["this photo", name])
    panel, quarters = common.panels[1], common.quarters[1]
    turn = np.eye(3)
    turn[:2, :2] = turn_matrix(90.0 * quarters)
    turned = replace(panel, photo_to_panel=turn @ panel.photo_to_panel)
    if quarters % 2:
        turned = replace(turned, width_mm=panel.height_mm, height_mm=panel.width_mm)
    return replace(first, marks=replace(first.marks, panel=turned))
