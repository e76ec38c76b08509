"""Drawings: what was found, on the photo as taken and on the flat view."""

from aligncheck.overlay.overlays import Overlays, bare_flat, draw_flat_overlay, draw_overlays, draw_photo_overlay
from aligncheck.overlay.stages import stage_layers
from aligncheck.overlay.view import PHONE, PRINT, SCREEN, Style

__all__ = [
    "PHONE",
    "PRINT",
    "SCREEN",
    "Overlays",
    "Style",
    "bare_flat",
    "draw_flat_overlay",
    "draw_overlays",
    "draw_photo_overlay",
    "stage_layers",
]
