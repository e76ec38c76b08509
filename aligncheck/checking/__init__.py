"""The stages one after the other, on one photo; with what `reach`, `place` and `margin` add to it."""

from typing import TYPE_CHECKING

from aligncheck.on_demand import on_demand

if TYPE_CHECKING:
    from aligncheck.checking.finished import Check
    from aligncheck.checking.given import ideal_layout
    from aligncheck.checking.margins import measure_margin
    from aligncheck.checking.one_photo import check
    from aligncheck.checking.placing import place
    from aligncheck.checking.reaching import reach

# Whoever measures in other processes needs the names alone, and a plain check none of what compares photos.
__getattr__ = on_demand(
    __name__,
    {
        "Check": "finished",
        "check": "one_photo",
        "ideal_layout": "given",
        "measure_margin": "margins",
        "place": "placing",
        "reach": "reaching",
    },
)

__all__ = ["Check", "check", "ideal_layout", "measure_margin", "place", "reach"]
