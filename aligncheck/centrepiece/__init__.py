"""What lies on a marked panel: its outline, how far it reaches, and where the first row may start."""

from aligncheck.centrepiece.centrepiece import Arrangement, Centrepiece, SegmentReach
from aligncheck.centrepiece.find import find_centrepiece, why_none

__all__ = ["Arrangement", "Centrepiece", "SegmentReach", "find_centrepiece", "why_none"]
