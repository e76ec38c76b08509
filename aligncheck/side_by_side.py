"""Work done side by side: NumPy and OpenCV let other threads run while they calculate.

As many threads as OpenCV may use: where it is told to use one (a process for every processor), nothing runs beside.
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

import cv2

Item = TypeVar("Item")
Made = TypeVar("Made")

#: Each thread holds pictures of its own; more threads would mostly wait for one another between calculations.
MOST_THREADS = 4


def all_at_once(work: Callable[[Item], Made], items: Sequence[Item]) -> list[Made]:
    """`work` done on every item, in the order of the items."""
    threads = min(cv2.getNumThreads(), MOST_THREADS, len(items))
    if threads < 2:
        return [work(item) for item in items]
    # Most photos show marks alone and never get here.
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, items))


def beside(work: Callable[[], Made]) -> Callable[[], Made]:
    """Begin `work` beside what follows; what comes back waits for it and gives what it made."""
    if cv2.getNumThreads() < 2:
        return work
    from concurrent.futures import ThreadPoolExecutor

    pool = ThreadPoolExecutor(1)
    made = pool.submit(work)
    pool.shutdown(wait=False)
    return made.result
