"""Make what can be given away: film, page and handout, without anything of the photos but their dates."""

from pathlib import Path

from aligncheck.errors import RecordError
from aligncheck.files import write_all
from aligncheck.film.encode import mp4, webp
from aligncheck.film.frames import frames, plan
from aligncheck.film.views import Source, gather
from aligncheck.record.record import open_record
from aligncheck.record.results import read_result

FILM_PX = 720


def export_record(folder: Path, out: Path, film_edge_px: int | None = None) -> list[Path]:
    """Write the film of a record into `out`; the files written."""
    record = open_record(folder)
    stages = [s for s in record.stages if s.present]
    if not stages:
        raise RecordError("no_stages", folder=str(folder))
    sources = [
        Source(record.path(s, s.file(".flat.jpg") or s.file(".view.jpg") or s.photo), read_result(record, s))
        for s in stages
    ]
    views = gather(sources)
    captions = [f"{k}  {s.title}" for k, s in enumerate(stages, 1)]
    edge = FILM_PX if film_edge_px is None else film_edge_px
    contents = {out / "film.webp": webp(frames(views, captions, edge), [s.seconds for s in plan(len(stages))])}
    video = mp4(frames(views, captions, edge))
    if video is not None:
        contents[out / "film.mp4"] = video
    write_all(contents, lambda _: True)
    return list(contents)
