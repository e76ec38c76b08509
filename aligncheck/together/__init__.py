"""Several photos of one panel, tied by their marks into one measurement."""

from aligncheck.together.tie import Together, tie

__all__ = ["Together", "tie"]
