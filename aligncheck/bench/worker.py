"""A process that measures: takes one task after the other and tells what it finds as it finds it."""

import signal
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from aligncheck.bench.frames import receive, send
from aligncheck.bench.limits import limit_resources


def main(link: Connection, data_bytes: int) -> None:
    """Work until the page goes away."""
    # Ctrl-C goes to the whole group of processes; the page ends its workers itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    limit_resources(data_bytes)
    from aligncheck.bench.measuring import keep, measure, warm_up

    warm_up()
    work = {"measure": measure, "keep": keep}
    try:
        send(link, {"event": "ready"})
        while True:
            task, _ = receive(link)
            _one(work[task["kind"]], task, link)
    except (EOFError, OSError, KeyError):
        return


def _one(work: Callable[..., None], task: dict[str, Any], link: Connection) -> None:
    """One task; whatever becomes of it, the last message is an end."""
    from aligncheck.errors import AligncheckError

    def tell(event: str, message: dict[str, Any] | None = None, blobs: dict[str, bytes] | None = None) -> None:
        send(link, {"event": event, **(message or {})}, blobs)

    try:
        work(Path(task["path"]), task, tell)
    except AligncheckError as error:
        # Corners in the photo are a list; what else a sentence names is a number or a word.
        values = {k: v if isinstance(v, int | float | str | list) else str(v) for k, v in error.values.items()}
        tell("refused", {"code": error.code, "values": values})
    except MemoryError:
        tell("refused", {"code": "out_of_memory", "values": {}})
    except (EOFError, OSError):
        raise
    except Exception as error:
        # OpenCV has an error of its own for memory that it did not get.
        short = "Insufficient memory" in str(error) or "allocate" in str(error)
        tell(
            "refused", {"code": "out_of_memory" if short else "unexpected", "values": {"reason": type(error).__name__}}
        )
    tell("end")
