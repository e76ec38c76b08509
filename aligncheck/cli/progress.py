"""A quiet line of progress while many photos are checked, only where someone is looking."""

import sys

#: From so many photos on it is worth a line.
MANY = 3


class Progress:
    """``4 of 30 photos`` on standard error, wiped before anything else is printed and at the end."""

    def __init__(self, total: int):
        self.total, self.done = total, 0
        self.shown = total >= MANY and sys.stderr.isatty()

    def __enter__(self) -> "Progress":
        self._draw()
        return self

    def __exit__(self, *_: object) -> None:
        self.clear()
        self.shown = False

    def step(self) -> None:
        """One more photo is done."""
        self.done += 1
        self._draw()

    def clear(self) -> None:
        """Wipe the line."""
        if self.shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    def _draw(self) -> None:
        if self.shown:
            sys.stderr.write(f"\r{self.done} of {self.total} photos")
            sys.stderr.flush()
