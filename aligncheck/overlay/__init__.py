"""Drawings: what was found, on the photo as taken and on the flat view."""

from aligncheck.overlay.overlays import Overlays, bare_flat, draw_flat_overlay, draw_overlays, draw_photo_overlay
from aligncheck.overlay.view import PRINT, SCREEN, Style

__all__ = [
    "PRINT",
    "SCREEN",
    "Overlays",
    "Style",
    "bare_flat",
    "draw_flat_overlay",
    "draw_overlays",
    "draw_photo_overlay",
]
