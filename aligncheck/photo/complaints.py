"""What the JPEG decoder says of a damaged file: only on standard error, where nobody takes it for a verdict."""

import os
import re
from collections.abc import Callable
from threading import Lock
from typing import TypeVar

Made = TypeVar("Made")

#: Warnings of libjpeg after which part of the picture is not what was photographed: a scan broken off, a code that is
#: none, a lost place. Stray bytes before a marker are no such thing; some phones write them.
DAMAGED = re.compile(rb"premature end|bad \w+ code|instead of RST|inconsistent progression", re.IGNORECASE)
#: Standard error belongs to the whole process.
_ALONE = Lock()


def decoded(decode: Callable[[], Made]) -> tuple[Made, bool]:
    """What `decode` made, and whether its library complained of damage; other words on standard error are passed on."""
    with _ALONE:
        try:
            kept = os.dup(2)
        except OSError:
            # Standard error is closed: nothing can be heard.
            return decode(), False
        heard, told = os.pipe()
        # The decoder writes a line or two; whoever else would fill the pipe must not wait for us.
        os.set_blocking(told, False)
        try:
            os.dup2(told, 2)
            made = decode()
        finally:
            os.dup2(kept, 2)
            os.close(kept)
            os.close(told)
            with os.fdopen(heard, "rb") as pipe:
                lines = pipe.read().splitlines(keepends=True)
            if rest := b"".join(line for line in lines if b"JPEG" not in line and not DAMAGED.search(line)):
                os.write(2, rest)
    return made, any(DAMAGED.search(line) for line in lines)
