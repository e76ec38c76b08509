"""Work that is begun ahead, while this thread does something else."""

from collections.abc import Callable
from threading import Thread
from typing import Generic, TypeVar

T = TypeVar("T")


class Ahead(Thread, Generic[T]):
    """One call in a thread of its own, begun at once.

    For work that holds the interpreter's lock but little, such as decoding a picture.
    """

    def __init__(self, work: Callable[[], T]):
        super().__init__(daemon=True)
        self._work = work
        self._value: list[T] = []
        self._error: BaseException | None = None
        self.start()

    def run(self) -> None:
        """Do the work; the thread's own."""
        try:
            self._value.append(self._work())
        except BaseException as error:
            self._error = error

    def outcome(self) -> T:
        """What the call returned, waited for; or what it raised."""
        self.join()
        if self._error is not None:
            raise self._error
        return self._value[0]
