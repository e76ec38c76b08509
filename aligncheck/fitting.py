"""How much of a text fits where there is too little room for all of it."""

from bisect import bisect_left
from collections.abc import Callable


def letters_that_fit(text: str, fits: Callable[[str], bool]) -> int:
    """How many of its first letters fit, fewer than all; found by halving, for a title or a word may be long."""
    return bisect_left(range(1, len(text)), True, key=lambda letters: not fits(text[:letters]))
