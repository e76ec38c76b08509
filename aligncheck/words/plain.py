"""Which findings are for a page that people read, and which only for those who read the result file."""

import re
from collections.abc import Iterable

#: Colour differences, colour codes, and pointers to a file that the reader of a page does not have.
_FIGURES = re.compile(r"CIEDE2000|result file|#[0-9a-f]{6}\b")


def plain_lines(lines: Iterable[str]) -> list[str]:
    """The lines without those that hold figures alone."""
    return [line for line in lines if not _FIGURES.search(line)]
