"""The ideal: segments, rotation, rings and tolerance, from options, a TOML file or the marks."""

from aligncheck.layout.layout import Layout
from aligncheck.layout.read import parse_layout, read_layout

__all__ = ["Layout", "parse_layout", "read_layout"]
