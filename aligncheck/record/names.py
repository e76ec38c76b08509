"""Plain dated names that every file system takes: ``2026-05-12-0931-marked``."""

import re
import unicodedata
from datetime import datetime

#: Bytes of a title that go into a name: with date, number and endings it stays far below the 255 of file systems, and
#: below the 143 of encrypted ones.
LONGEST_BYTES = 48


def slug(text: str, longest: int = LONGEST_BYTES) -> str:
    """The letters and digits of a text, of any script, in lower case with dashes between words; may be empty."""
    # Composed, because two ways to write one letter would make two names that look the same.
    plain = unicodedata.normalize("NFC", text).casefold()
    words = re.sub(r"[^\w]+|_+", "-", plain).strip("-")
    return words.encode()[:longest].decode("utf-8", "ignore").strip("-")


def dated_name(moment: str, title: str) -> str:
    """A stage's name from its ISO 8601 moment and its title; sorts by date."""
    stamp = datetime.fromisoformat(moment).strftime("%Y-%m-%d-%H%M")
    return "-".join(part for part in (stamp, slug(title)) if part)


def numbered(name: str, attempt: int) -> str:
    """The name itself, then with -2, -3 and so on."""
    return name if attempt == 0 else f"{name}-{attempt + 1}"


def is_conflict_copy(name: str) -> bool:
    """Whether a file's name is one that sync programs give to the second of two versions."""
    low = name.lower()
    return "conflict" in low or "konflikt" in low or "conflit" in low or bool(re.search(r" \(\d+\)(\.|$)", low))
