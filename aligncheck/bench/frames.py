"""Messages between the page and its workers: a dictionary as JSON, then its pictures as bytes.

No pickles: whoever takes over a worker with a crafted picture must not get code into the page by way of its answer.
"""

import json
from collections.abc import Mapping
from multiprocessing.connection import Connection
from typing import Any

#: Longest part that the page takes from a worker: its pictures have some 300 kB, those of a record a few MB.
MAX_BYTES = 128_000_000
MAX_BLOBS = 16


def send(link: Connection, message: Mapping[str, Any], blobs: Mapping[str, bytes] | None = None) -> None:
    """Send `message` and the bytes that go with it, by name."""
    blobs = blobs or {}
    link.send_bytes(json.dumps({"message": message, "blobs": list(blobs)}).encode())
    for data in blobs.values():
        link.send_bytes(data)


def receive(link: Connection) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The next message and its bytes; EOFError or OSError where the other side has gone or talks nonsense."""
    try:
        head = json.loads(link.recv_bytes(MAX_BYTES))
        message, names = head["message"], head["blobs"]
        if not isinstance(message, dict) or not isinstance(names, list) or len(names) > MAX_BLOBS:
            raise EOFError
        return message, {str(name): link.recv_bytes(MAX_BYTES) for name in names}
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise EOFError from error
