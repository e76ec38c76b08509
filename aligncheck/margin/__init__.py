"""The clear margin round the design: what a frame would cover, and how far the design sits off the panel's middle."""

from aligncheck.margin.find import find_margin
from aligncheck.margin.margin import SIDES, Margin, SideMargin

__all__ = ["SIDES", "Margin", "SideMargin", "find_margin"]
