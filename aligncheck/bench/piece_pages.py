"""The record of a piece as the bench shows it: its stages with their pictures, and what has changed."""

import asyncio
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import FileResponse, Response

from aligncheck.bench import show
from aligncheck.bench.answers import page
from aligncheck.bench.asking import desk_of
from aligncheck.bench.uploads import Refused
from aligncheck.record.record import Record
from aligncheck.record.stage import Stage

#: Pictures of a stage that may be shown: drawn by us, without what a camera wrote into its photo.
PICTURES = (".flat.jpg", ".view.jpg")


async def record_page(request: Request) -> Response:
    """The stages of a piece."""
    piece = request.path_params["piece"]
    record = await _record(request)
    address = f"/pieces/{quote(piece)}"
    stages = [
        {
            "number": k,
            "title": s.title,
            "date": s.moment[:10],
            "kind": s.kind,
            "headline": s.headline,
            "picture": f"{address}/{k}.jpg" if _picture(record, s) else None,
        }
        for k, s in enumerate(record.stages, 1)
    ]
    measured = [s for s in record.stages if s.measured and s.present]
    return page(
        "record",
        id=piece,
        record=record,
        stages=stages,
        now=measured[-1] if measured else None,
        told=await asyncio.to_thread(_told, record, measured),
        placed=" ".join(f"{line.rstrip('.')}." for line in measured[-1].placed) if measured else "",
        size=show.size_words(record.piece.panel),
        folder=record.folder.name,
    )


async def stage_picture(request: Request) -> Response:
    """The flat view of one stage; of one that was not measured the small photo."""
    record = await _record(request)
    number = request.path_params["number"]
    if not (number.isascii() and number.isdecimal() and len(number) < 6 and 1 <= int(number) <= len(record.stages)):
        raise Refused(404, "not_found")
    path = _picture(record, record.stages[int(number) - 1])
    if path is None:
        raise Refused(404, "not_found")
    return FileResponse(path, media_type="image/jpeg", headers={"cache-control": "private, max-age=600"})


async def _record(request: Request) -> Record:
    record = await asyncio.to_thread(desk_of(request).pieces.record, request.path_params["piece"])
    if record is None:
        raise Refused(404, "not_found")
    return record


def _picture(record: Record, stage: Stage) -> Path | None:
    """Where the picture that stands for a stage lies."""
    names = [name for ending in PICTURES if (name := stage.file(ending))]
    paths = [record.path(stage, name) for name in names]
    return next((path for path in paths if path.is_file()), None)


def _told(record: Record, measured: list[Stage]) -> Any:
    """What has changed from the last stage but one to the last."""
    from aligncheck.record.progress import progress

    return progress(record, measured[-2], measured[-1]) if len(measured) > 1 else None
