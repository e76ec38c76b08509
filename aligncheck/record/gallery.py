"""All that page, handout and film show of a record, read and registered once."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from aligncheck.errors import RecordError
from aligncheck.film.register import Registration
from aligncheck.film.views import Source, Views, gather
from aligncheck.record.history import Moved, SpokeHistory, moved_spokes, spoke_histories
from aligncheck.record.painted import row_lines
from aligncheck.record.progress import changes, day, told
from aligncheck.record.record import Record
from aligncheck.record.results import read_result
from aligncheck.record.stage import Stage


@dataclass(frozen=True)
class Gallery:
    """A record's stages with figures and pictures; all sequences go together."""

    record: Record
    stages: tuple[Stage, ...]
    results: tuple[dict[str, Any] | None, ...]
    views: Views

    @property
    def laid(self) -> tuple[Registration | None, ...]:
        """How each stage lies in the common frame."""
        return tuple(view.laid for view in self.views.views)

    def histories(self) -> tuple[SpokeHistory, ...]:
        """Every spoke through all stages."""
        return spoke_histories(self.results, self.laid)

    def corrected(self) -> list[Moved]:
        """Spokes that were moved."""
        return moved_spokes(self.histories())

    def told(self, earlier: int, later: int) -> str | None:
        """What changed between two stages in words; None where one was not measured."""
        before, after = self.results[earlier], self.results[later]
        if not before or not after:
            return None
        first, last = self.stages[earlier], self.stages[later]
        words = told(first.moment, last.moment, changes(before, after, (self.laid[earlier], self.laid[later])))
        if last.placed_like == first.name and last.placed:
            words = " ".join([words, "Centrepiece:", *(f"{line.rstrip('.')}." for line in last.placed)])
        return words

    def rows(self) -> tuple[str, ...]:
        """The rows as the painter noted them; where she did not, as they were measured last."""
        if self.record.piece.rows:
            return self.record.piece.rows
        return next((lines for r in reversed(self.results) if r and (lines := row_lines(r))), ())

    def date(self, index: int) -> str:
        """When a stage was, for a caption; with the year where the record spans several."""
        moments = [datetime.fromisoformat(s.moment) for s in self.stages]
        return day(moments[index], with_year=len({m.year for m in moments}) > 1)

    def caption(self, index: int) -> str:
        """ "3  Petals traced · 12 May"."""
        return f"{index + 1}  {self.stages[index].title} · {self.date(index)}"


def gather_record(record: Record, step: Callable[[], None] = lambda: None) -> Gallery:
    """Read all stages whose folder is there.

    Raises
    ------
    RecordError
        ``no_stages``.
    """
    stages = tuple(s for s in record.stages if s.present)
    if not stages:
        raise RecordError("no_stages", folder=str(record.folder))
    results = tuple(read_result(record, s) for s in stages)
    views = gather([_source(record, s, r) for s, r in zip(stages, results, strict=True)], step)
    return Gallery(record, stages, results, views)


def _source(record: Record, stage: Stage, result: dict[str, Any] | None) -> Source:
    flat = stage.file(".flat.jpg")
    if flat and result:
        return Source(record.path(stage, flat), result)
    return Source(record.path(stage, stage.file(".view.jpg") or flat or stage.photo), None)
