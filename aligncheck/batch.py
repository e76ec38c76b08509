"""Many photos, one after the other or on any executor of `concurrent.futures`: threads, processes, a cluster's."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from aligncheck.errors import AligncheckError

if TYPE_CHECKING:
    from concurrent.futures import Executor

T = TypeVar("T")


@dataclass(frozen=True)
class Outcome(Generic[T]):
    """What became of one photo: a value, or the error that says why there is none."""

    photo: Path
    value: T | None = None
    error: AligncheckError | None = None


def run_many(
    task: Callable[[Path], T], photos: Iterable[str | Path], executor: "Executor | None" = None
) -> Iterator[Outcome[T]]:
    """Run `task` on every photo; outcomes come in the order of the photos, refusals among them.

    Parameters
    ----------
    task : callable
        Must be picklable where the executor's workers are other processes. An AligncheckError becomes the outcome's
        error; a worker that dies becomes ``worker_died`` for its photo and those that were still waiting.
    photos : iterable of path
    executor : concurrent.futures.Executor, optional
        None: here, one after the other.
    """
    paths = [Path(p) for p in photos]
    if executor is None:
        for path in paths:
            yield _outcome(path, partial(task, path))
        return
    futures = [_submit(executor, task, path) for path in paths]
    try:
        for path, future in zip(paths, futures, strict=True):
            yield _outcome(path, future if isinstance(future, _Broken) else future.result)
    finally:
        # Whoever stops listening, by Ctrl-C or otherwise, also stops what has not begun.
        for future in futures:
            if not isinstance(future, _Broken):
                future.cancel()


def check_many(
    photos: Iterable[str | Path],
    panel: str | tuple[float, float],
    *,
    executor: "Executor | None" = None,
    finish: Callable[[Any], T] | None = None,
    **options: Any,
) -> Iterator[Outcome[Any]]:
    """Check many photos of panels of one size.

    Parameters
    ----------
    photos, executor
        As in :func:`run_many`.
    panel, **options
        As in :func:`aligncheck.check`.
    finish : callable, optional
        Makes of each check what is handed back; it runs in the worker, so that no pixels travel. Without it, outcomes
        hold the result file's dictionary.

    Examples
    --------
    >>> from concurrent.futures import ProcessPoolExecutor
    >>> with ProcessPoolExecutor() as pool:  # doctest: +SKIP
    ...     for outcome in aligncheck.check_many(photos, "12x12in", executor=pool):
    ...         print(outcome.photo.name, outcome.error or outcome.value["rotation_deg"])
    """
    return run_many(partial(_check_one, panel=panel, finish=finish, options=options), photos, executor)


def _check_one(photo: Path, panel: Any, finish: Callable[[Any], T] | None, options: dict[str, Any]) -> Any:
    """One photo to its value, in whatever process this runs."""
    # Loaded where the work is done: whoever only hands out work needs none of it.
    from aligncheck.checking import check
    from aligncheck.result import as_result

    return (finish or as_result)(check(photo, panel, **options))


class _Broken:
    """Stands for a future that could not be had because the executor was broken already."""

    def __init__(self, error: BaseException):
        self.error = error

    def __call__(self) -> Any:
        raise self.error


def _submit(executor: "Executor", task: Callable[[Path], T], path: Path) -> Any:
    try:
        return executor.submit(task, path)
    except RuntimeError as error:
        return _Broken(error)


def _outcome(path: Path, get: Callable[[], T]) -> Outcome[T]:
    """Call `get` and turn errors that concern this photo alone into its outcome."""
    try:
        return Outcome(path, get())
    except AligncheckError as error:
        return Outcome(path, error=error)
    except MemoryError:
        return Outcome(path, error=AligncheckError("out_of_memory", file=path.name))
    # BrokenProcessPool is a RuntimeError; a cluster's lost worker has a name of its own.
    except Exception as error:
        died = "Broken" in type(error).__name__ or "Killed" in type(error).__name__
        code = "worker_died" if died else "unexpected"
        raised = AligncheckError(code, file=path.name, reason=f"{type(error).__name__}: {error}")
        raised.__cause__ = error
        return Outcome(path, error=raised)
