"""Which line of a TOML file its parser means."""

import re


def line_meant(error: ValueError, text: str) -> int:
    """The line, from 1, that a parser's complaint about `text` is about; at the end, the last that holds anything."""
    if match := re.search(r"at line (\d+)", str(error)):
        return int(match[1])
    return max((number for number, row in enumerate(text.splitlines(), 1) if row.strip()), default=1)
