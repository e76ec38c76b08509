"""The lens: how it bends straight lines, where the bend comes from, and profiles of it.

Fitting lives in `aligncheck.lens.fit`, apart from the rest, since a check never needs it.
"""

from aligncheck.lens.bend import Lens, LensSource

__all__ = ["Lens", "LensSource"]
