"""Work done side by side: NumPy and OpenCV let other threads run while they calculate.

As many threads as OpenCV may use: where it is told to use one (a process for every processor), nothing runs beside.
"""

from collections.abc import Callable, Sequence
from threading import Thread
from typing import Generic, TypeVar

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


class Ahead(Thread, Generic[Made]):
    """One call in a thread of its own, begun at once."""

    def __init__(self, work: Callable[[], Made]):
        # Waited for when the program ends: a thread cut off within OpenCV would take the program down with a crash.
        super().__init__()
        self._work = work
        self._value: list[Made] = []
        self._error: BaseException | None = None
        self.start()

    def run(self) -> None:
        """Do the work; the thread's own."""
        try:
            self._value.append(self._work())
        except BaseException as error:
            self._error = error

    def outcome(self) -> Made:
        """What the call returned, waited for; or what it raised."""
        self.join()
        if self._error is not None:
            raise self._error
        return self._value[0]


def beside(work: Callable[[], Made]) -> Callable[[], Made]:
    """Begin `work` beside what follows; what comes back waits for it and gives what it made."""
    return work if cv2.getNumThreads() < 2 else Ahead(work).outcome
