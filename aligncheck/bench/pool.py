"""The processes that measure: a bounded queue, a thread for each process, a new process for one that died."""

import multiprocessing
import os
import queue
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from multiprocessing.connection import Connection
from typing import Any

from aligncheck.bench.frames import receive, send

#: A photo whose worker died is tried once more: it may have been another program that took the memory.
ATTEMPTS = 2
#: Importing everything takes two seconds on an idle computer.
START_S = 60.0

#: Gets a task's id, a message and its bytes; called from the pool's threads.
Listener = Callable[[str, dict[str, Any], dict[str, bytes]], None]


class PoolFull(Exception):  # noqa: N818 - an answer, not a fault
    """More is waiting than the queue takes."""


@dataclass(order=True)
class Task:
    """One thing to do: what is measured goes before what is kept, and then in the order of coming."""

    order: tuple[int, int]
    id: str = field(compare=False)
    message: Mapping[str, Any] = field(compare=False)
    stopped: bool = field(default=False, compare=False)


class Pool:
    """Workers and the queue in front of them."""

    def __init__(self, workers: int, data_bytes: int, task_s: float, most_waiting: int, listener: Listener):
        self.data_bytes, self.task_s, self.most_waiting, self.listener = data_bytes, task_s, most_waiting, listener
        self.queue: queue.PriorityQueue[Task] = queue.PriorityQueue()
        self._numbers = count()
        self._closed = threading.Event()
        self._lock = threading.Lock()
        self._tasks: dict[str, Task] = {}
        self.slots = [Slot(self) for _ in range(workers)]

    def start(self) -> None:
        """Start the workers; tasks may be put in before and at once after."""
        for slot in self.slots:
            slot.thread.start()

    def submit(self, task_id: str, message: Mapping[str, Any], later: bool = False) -> None:
        """Put a task in; its messages come to the listener under `task_id`, the last one an ``end``.

        Raises
        ------
        PoolFull
        """
        with self._lock:
            if len(self._tasks) >= self.most_waiting:
                raise PoolFull
            task = Task((int(later), next(self._numbers)), task_id, message)
            self._tasks[task_id] = task
        self.queue.put(task)

    def stop(self, task_id: str) -> None:
        """Give a task up; where it is being worked on, its worker is ended with it."""
        with self._lock:
            task = self._tasks.get(task_id)
            if task is None:
                return
            task.stopped = True
        for slot in self.slots:
            if slot.task is task:
                slot.kill()

    def ahead(self, task_id: str) -> int:
        """How many tasks stand before this one."""
        with self._lock:
            task = self._tasks.get(task_id)
            return sum(other.order < task.order for other in self._tasks.values()) if task else 0

    @property
    def busy(self) -> int:
        """How many tasks there are, waiting or worked on."""
        with self._lock:
            return len(self._tasks)

    def finished(self, task: Task) -> None:
        """Forget a task."""
        with self._lock:
            self._tasks.pop(task.id, None)

    def threads(self) -> int:
        """Threads for the next task: all of the processors for one photo, one each where several wait."""
        return max(1, (os.cpu_count() or 1) // max(1, min(self.busy, len(self.slots))))

    def is_closed(self) -> bool:
        """Whether the pool is shutting down."""
        return self._closed.is_set()

    def close(self) -> None:
        """End all workers."""
        self._closed.set()
        for slot in self.slots:
            slot.kill()
        for slot in self.slots:
            if slot.thread.is_alive():
                slot.thread.join(5.0)


class Slot:
    """One worker's place: the thread that feeds it and puts a new one there when it dies."""

    def __init__(self, pool: Pool):
        self.pool = pool
        self.task: Task | None = None
        self.process: Any = None
        self._link: Connection | None = None
        self.thread = threading.Thread(target=self._run, name="aligncheck-worker", daemon=True)

    def kill(self) -> None:
        """End the process; the thread notices by itself."""
        process = self.process
        if process is not None:
            with suppress(OSError, ValueError):
                process.kill()

    def _run(self) -> None:
        while not self.pool.is_closed():
            # Ready before a task comes. Where no process is to be had, a task must still hear so.
            self._ready()
            try:
                task = self.pool.queue.get(timeout=0.5)
            except queue.Empty:
                continue
            self.task = task
            try:
                self._work(task)
            finally:
                self.task = None
                self.pool.finished(task)
        self._discard()

    def _work(self, task: Task) -> None:
        """See a task through, with a second worker if the first dies."""
        for _ in range(ATTEMPTS):
            if task.stopped:
                return self._tell(task, {"event": "stopped"})
            if self.pool.is_closed():
                return None
            outcome = self._attempt(task) if self._ready() else "died"
            if outcome == "end":
                return self._tell(task, {"event": "end"})
            self._discard()
            if outcome == "late":
                return self._tell(task, {"event": "failed", "code": "too_slow"})
        return self._tell(task, {"event": "stopped"} if task.stopped else {"event": "failed", "code": "worker_died"})

    def _attempt(self, task: Task) -> str:
        """Send the task and hand on what comes back: ``end``, ``died`` or ``late``."""
        link = self._link
        if link is None:
            return "died"
        until = time.monotonic() + self.pool.task_s
        try:
            send(link, {**task.message, "threads": self.pool.threads()})
            while True:
                if not link.poll(max(0.0, until - time.monotonic())):
                    return "late"
                message, blobs = receive(link)
                if message.get("event") == "end":
                    return "end"
                self._tell(task, message, blobs)
        except (EOFError, OSError):
            return "died"

    def _tell(self, task: Task, message: dict[str, Any], blobs: dict[str, bytes] | None = None) -> None:
        with suppress(RuntimeError):
            # The page may be closing: then nobody listens any more.
            self.pool.listener(task.id, message, blobs or {})

    def _ready(self) -> bool:
        """Whether a worker stands ready, started now if need be."""
        if self.process is not None and self.process.is_alive() and self._link is not None:
            return True
        self._discard()
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        try:
            from aligncheck.bench.worker import main

            process = context.Process(target=main, args=(theirs, self.pool.data_bytes), daemon=True)
            process.start()
        except OSError:
            ours.close()
            return False
        finally:
            theirs.close()
        self.process, self._link = process, ours
        try:
            if ours.poll(START_S):
                receive(ours)
                return True
        except (EOFError, OSError):
            pass
        self._discard()
        return False

    def _discard(self) -> None:
        """Take away a worker that is dead or shall be."""
        self.kill()
        process, link = self.process, self._link
        self.process = self._link = None
        if link is not None:
            link.close()
        if process is not None:
            process.join(5.0)
