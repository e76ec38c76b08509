"""The panel in the photo: its front face, the map between photo pixels and panel millimetres, the flat view."""

from aligncheck.panel.find import find_panel
from aligncheck.panel.flat import FlatView, flat_view
from aligncheck.panel.panel import Panel

__all__ = ["FlatView", "Panel", "find_panel", "flat_view"]
