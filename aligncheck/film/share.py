"""Share work on pictures among the processors: OpenCV lets other threads run while it decodes, warps and encodes."""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")
Made = TypeVar("Made")

#: Each thread holds a large picture or two; more threads would only wait for memory.
MOST_THREADS = 4


def shared(work: Callable[[Item], Made], items: Sequence[Item]) -> Iterator[Made]:
    """`work` done on every item, in the order of the items; no more at a time than there are processors."""
    with ThreadPoolExecutor(max(1, min(os.cpu_count() or 1, MOST_THREADS))) as pool:
        yield from pool.map(work, items)
