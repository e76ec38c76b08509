"""What limits this photo, what to do about it, and by how much that would sharpen the answer."""

from aligncheck.advice.advise import advise

__all__ = ["advise"]
