"""How much like a drawn stroke a place is: ridges of the panel's flat view."""

from aligncheck.strokes.ridges import Ridges, ridges

__all__ = ["Ridges", "ridges"]
