"""The clear margin round the design: what a frame would cover, and how far the design sits off the panel's middle."""

from typing import TYPE_CHECKING

from aligncheck.margin.margin import SIDES, Margin, SideMargin
from aligncheck.on_demand import on_demand

if TYPE_CHECKING:
    from aligncheck.margin.find import find_margin

__getattr__ = on_demand(__name__, {"find_margin": "find"})

__all__ = ["SIDES", "Margin", "SideMargin", "find_margin"]
