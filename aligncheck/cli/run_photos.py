"""Run the check on all photos of a call: names, processes, progress, printing, exit status."""

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from aligncheck.batch import Outcome, run_many
from aligncheck.cli import DONE, NOT_DONE, OUT, say
from aligncheck.cli.memory import reuse_freed_memory
from aligncheck.cli.progress import Progress
from aligncheck.cli.report import Asked, Report, report
from aligncheck.errors import InputError, OutputError
from aligncheck.files import require_writable
from aligncheck.notes import Note
from aligncheck.result.names import Target, targets
from aligncheck.result.ours import is_our_picture
from aligncheck.result.rows import Row, is_our_table, refused_row, write_rows
from aligncheck.stage import require_stage
from aligncheck.units import parse_size

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from aligncheck.joint import Measured


def run_checks(photos: Sequence[str], asked: Asked, out: Path | None, csv: Path | None, jobs: int) -> int:
    """Check all photos; the exit status is that of the worst."""
    paths = _not_ours([Path(p).expanduser() for p in photos])
    _require_sense(asked, len(paths), csv)
    where = dict(zip(paths, targets(paths, out), strict=True))
    workers = min(jobs or os.cpu_count() or 1, len(paths))
    reuse_freed_memory()
    status = DONE
    rows: list[Row] = []
    measured: dict[Path, Measured] = {}
    failed: list[Note] = []
    with _executor(workers) as executor, Progress(len(paths)) as progress:
        task = _Task(asked, where, one_thread=workers > 1)
        for outcome in run_many(task, paths, executor):
            told = _tell(outcome, len(paths) > 1, progress, quiet=asked.together)
            # Together, what a single photo calls out is not the answer yet; what could not be measured still is.
            status = max(status, told if told == NOT_DONE or not asked.together else DONE)
            if outcome.value and outcome.value.measured:
                measured[outcome.photo] = outcome.value.measured
            if outcome.error:
                failed.append(Note("together_not_measured", {"file": outcome.photo.name, "reason": str(outcome.error)}))
            rows += outcome.value.rows if outcome.value else [refused_row(outcome.photo, str(outcome.error))]
            progress.step()
    if asked.together:
        from aligncheck.cli.together import finish_together

        told, joint_rows = finish_together(measured, failed, where, asked)
        status, rows = max(status, told), rows + joint_rows
    if csv:
        write_rows(rows, csv)
    return status


def _require_sense(asked: Asked, photos: int, csv: Path | None) -> None:
    """Slips that concern all photos are told once, before any work."""
    parse_size(asked.panel)
    require_stage(asked.stage)
    if asked.layout:
        from aligncheck.layout import read_layout

        read_layout(asked.layout)
    if asked.paints:
        from aligncheck.dots import read_paints

        read_paints(asked.paints)
    if csv:
        if os.path.lexists(csv) and not is_our_table(csv):
            raise OutputError("not_our_table", file=csv.name, folder=str(csv.parent))
        require_writable([csv], is_our_table)
    if asked.corners_px and asked.together:
        raise InputError("together_corners")
    if asked.corners_px and photos > 1:
        raise InputError("several_corners")


class _Task:
    """The work on one photo, as an executor can send it to another process."""

    def __init__(self, asked: Asked, where: dict[Path, Target], one_thread: bool):
        self.asked, self.where, self.one_thread = asked, where, one_thread

    def __call__(self, photo: Path) -> Report:
        return report(photo, self.asked, self.where[photo], self.one_thread)


def _not_ours(paths: Sequence[Path]) -> list[Path]:
    """The photos, each once, without pictures that this program made."""
    kept = []
    for path in dict.fromkeys(paths):
        if is_our_picture(path):
            say(Note("own_picture", {"file": path.name}).text)
        else:
            kept.append(path)
    if not kept:
        raise InputError("no_photos")
    return kept


@contextmanager
def _executor(workers: int) -> Iterator["Executor | None"]:
    """A pool of processes, or None where one photo at a time is enough."""
    if workers <= 1:
        yield None
        return
    # Loaded only for several photos: with one, a thirtieth of all the work would go into it.
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # Spawned, not forked: OpenCV's threads do not survive a fork.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_begin_worker)
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin_worker() -> None:
    """Leave Ctrl-C to the process that hands out the work."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    reuse_freed_memory()


def _tell(outcome: Outcome[Report], many: bool, progress: Progress, quiet: bool = False) -> int:
    """Print what is to be said about one photo; its exit status."""
    progress.clear()
    if outcome.value is None:
        sentence = str(outcome.error)
        # With several photos every line must say which photo it is about.
        return say(
            f"{outcome.photo.name}: {sentence}" if many and outcome.photo.name not in sentence else sentence, NOT_DONE
        )
    if quiet:
        return OUT if outcome.value.out else DONE
    if many:
        print(f"{outcome.photo.name}", flush=False)  # noqa: T201 - this is the command's output
    indent = "  " if many else ""
    for line in outcome.value.lines:
        print(f"{indent}{line}")  # noqa: T201
    sys.stdout.flush()
    return OUT if outcome.value.out else DONE
