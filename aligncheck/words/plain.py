"""Which findings are for a page that people read, and which only for those who read the result file."""

import re
from collections.abc import Iterable

#: Colour differences, colour codes, and pointers to a file or an option that the reader of a page does not have.
_FIGURES = re.compile(r"colours differ by [0-9]|result file|#[0-9a-f]{6}\b| --[a-z]")
#: A way out that only the command line has, beside one that everybody has.
_OPTION = re.compile(r",? or give --[a-z-]+")


def plain_lines(lines: Iterable[str]) -> list[str]:
    """The lines without those that hold figures alone, and without options of the command line."""
    told = (_OPTION.sub("", line) for line in lines)
    return [line for line in told if not _FIGURES.search(line)]
