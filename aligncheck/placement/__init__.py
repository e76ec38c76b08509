"""Putting a centrepiece back: how it was moved and turned since an earlier photo."""

from typing import TYPE_CHECKING

from aligncheck.on_demand import on_demand
from aligncheck.placement.placement import Placement

if TYPE_CHECKING:
    from aligncheck.placement.common import in_frame_of
    from aligncheck.placement.find import find_placement
    from aligncheck.placement.sides import Arranged

__getattr__ = on_demand(__name__, {"in_frame_of": "common", "Arranged": "sides", "find_placement": "find"})

__all__ = ["Arranged", "Placement", "find_placement", "in_frame_of"]
