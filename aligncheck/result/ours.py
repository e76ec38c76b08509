"""Telling our own files from others: results may be replaced by newer ones, all else is left alone."""

import json
from pathlib import Path

#: Stands in a comment segment of every JPEG that we write.
MARKER = b"aligncheck picture 1"

#: Where a comment of ours can lie: right behind the first two bytes.
HEAD_BYTES = 64


def marked(jpeg: bytes) -> bytes:
    """The JPEG with our comment segment behind its first two bytes (ITU-T T.81, COM)."""
    return jpeg[:2] + b"\xff\xfe" + (len(MARKER) + 2).to_bytes(2, "big") + MARKER + jpeg[2:]


def is_our_picture(path: Path) -> bool:
    """Whether a file is a picture that this program wrote."""
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError:
        return False
    return head.startswith(b"\xff\xd8\xff\xfe") and MARKER in head


def is_our_result(path: Path) -> bool:
    """Whether a file is a result that this program wrote, of this version of the format or another."""
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(content, dict) and str(content.get("schema", "")).startswith("aligncheck-")


def is_ours(path: Path) -> bool:
    """Whether a file may be replaced by a newer result."""
    if path.is_symlink() or not path.is_file():
        return False
    return is_our_result(path) if path.suffix == ".json" else is_our_picture(path)
