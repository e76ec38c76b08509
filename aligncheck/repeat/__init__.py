"""The repeat test: how often a pattern repeats about its centre, whatever is drawn."""

from aligncheck.repeat.find import find_repeat, find_unmarked
from aligncheck.repeat.repeat import Repeat

__all__ = ["Repeat", "find_repeat", "find_unmarked"]
