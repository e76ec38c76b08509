"""The repeat test: how often a pattern repeats about its centre, whatever is drawn."""

from typing import TYPE_CHECKING

from aligncheck.on_demand import on_demand
from aligncheck.repeat.repeat import Repeat

if TYPE_CHECKING:
    from aligncheck.repeat.find import Look, find_repeat, find_unmarked, look_around

__getattr__ = on_demand(
    __name__, {"Look": "find", "find_repeat": "find", "find_unmarked": "find", "look_around": "find"}
)

__all__ = ["Look", "Repeat", "find_repeat", "find_unmarked", "look_around"]
