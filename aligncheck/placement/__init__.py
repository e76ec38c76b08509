"""Putting a centrepiece back: how it was moved and turned since an earlier photo."""

from aligncheck.placement.common import in_frame_of
from aligncheck.placement.find import Arranged, find_placement
from aligncheck.placement.placement import Placement

__all__ = ["Arranged", "Placement", "find_placement", "in_frame_of"]
