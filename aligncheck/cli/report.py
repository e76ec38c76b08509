"""One photo checked, written and told; this is what runs in each worker process."""

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from aligncheck.errors import AligncheckError

if TYPE_CHECKING:
    from aligncheck.joint import Measured
    from aligncheck.panel import FlatView
    from aligncheck.result.names import Target


@dataclass(frozen=True)
class Asked:
    """What was asked for on the command line, the same for every photo; see `aligncheck.check` for the values."""

    panel: str
    layout: Path | None = None
    segments: int | None = None
    tolerance_mm: float | None = None
    lens: Path | None = None
    corners_px: tuple[tuple[float, float], ...] | None = None
    exact_corners: bool = False
    depth_mm: float | None = None
    height_mm: tuple[float, float] | None = None
    stage: str | None = None
    paints: Path | None = None
    table: bool = False
    together: bool = False

    def for_check(self) -> dict[str, Any]:
        """The arguments of `aligncheck.check`."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name not in ("table", "together")}


class Report(NamedTuple):
    """What is printed about one photo, whether anything is out, and its rows for the table of all photos."""

    lines: tuple[str, ...]
    out: bool
    rows: tuple[dict[str, object], ...]
    measured: "Measured | None" = None


def report(photo: Path, asked: Asked, target: "Target", one_thread: bool) -> Report:
    """Check one photo and write its results."""
    from aligncheck.files import require_writable
    from aligncheck.photo import read_photo
    from aligncheck.result.ours import is_ours
    from aligncheck.side_by_side import beside

    if one_thread:
        import cv2

        # As many processes as processors: threads of one would only take turns with the others.
        cv2.setNumThreads(1)
    try:
        require_writable(target.files, is_ours)
        # The photo is decoded while the stages are loaded.
        reading = beside(partial(read_photo, photo))
        from aligncheck.checking import check
        from aligncheck.cli.piece import drawn
        from aligncheck.overlay import bare_flat, draw_overlays, stage_layers
        from aligncheck.result.rows import rows_of
        from aligncheck.result.write import write_results
        from aligncheck.words import findings, table

        seen = reading()
        flats: list[Callable[[], FlatView]] = []

        def begin(stage: str, found: Any) -> None:
            # The flat view needs the panel alone, and is drawn while the marks are measured.
            if stage == "panel":
                flats.append(beside(partial(bare_flat, seen, found)))

        done = check(seen, **asked.for_check(), on_stage=begin)
        write_results(done, target, draw_overlays(seen, done, more=stage_layers(done), begun=flats[0]))
    except AligncheckError as error:
        # Sentences about files name the photo; those about what it shows are told under its name.
        error.values.setdefault("file", photo.name)
        raise
    lines = [*findings(done), drawn(target), *(table(done).splitlines() if asked.table else ())]
    measured = None
    if asked.together:
        from aligncheck.joint import Measured

        measured = Measured.of(done)
    return Report(tuple(lines), done.out, tuple(rows_of(done)), measured)
