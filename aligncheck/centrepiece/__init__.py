"""What lies on a marked panel: its outline, how far it reaches, and where the first row may start."""

from aligncheck.centrepiece.centrepiece import Arrangement, Centrepiece, SegmentReach
from aligncheck.centrepiece.clear import Clear
from aligncheck.centrepiece.find import find_centrepiece, what_lies_there, why_none

__all__ = ["Arrangement", "Centrepiece", "Clear", "SegmentReach", "find_centrepiece", "what_lies_there", "why_none"]
