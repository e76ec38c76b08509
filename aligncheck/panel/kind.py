"""What kind of panel it is: a board cut true, or a deep one put together by hand, its bars perhaps pulled by cloth."""

from typing import NamedTuple

#: From this thickness on a panel is taken for a stretched canvas or a cradled board, mm.
DEEP_MM = 10.0
#: Where the thickness was not given, about one panel in five is deep; cloth pulls the sides of about half of these, for
#: cradled boards and small canvases keep straight.
DEEP_SHARE, PULLED_SHARE = 0.2, 0.1


class Kind(NamedTuple):
    """How likely the panel is `deep`, and how likely it is deep and its sides are `pulled` in by cloth."""

    deep: float
    pulled: float


def kind_of(depth_mm: float | None) -> Kind:
    """What the thickness says; None where it was not given. Of a deep panel the wider claim is made: it may bow."""
    if depth_mm is None:
        return Kind(DEEP_SHARE, PULLED_SHARE)
    return Kind(1.0, 1.0) if depth_mm >= DEEP_MM else Kind(0.0, 0.0)


def mixed(share: float, sd: float, other_sd: float, apart: float = 0.0) -> float:
    """The standard deviation where a `share` has another one than the rest, the two means being so far `apart`."""
    inner = (1 - share) * sd**2 + share * other_sd**2
    return float((inner + share * (1 - share) * apart**2) ** 0.5)
