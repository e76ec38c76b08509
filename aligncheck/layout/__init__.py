"""The ideal: segments, rotation, rings and tolerance, from options, a TOML file or the marks."""

from aligncheck.layout.layout import Layout

__all__ = ["Layout"]
