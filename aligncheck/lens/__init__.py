"""The lens: how it bends straight lines, where the bend comes from, and profiles of it."""

from aligncheck.lens.bend import Lens, LensSource

__all__ = ["Lens", "LensSource"]
