"""Make what can be given away: page, handout and film, without anything of the photos but their dates."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Lock

from aligncheck.errors import InputError
from aligncheck.files import write_all
from aligncheck.film.encode import Frame, mp4, webp
from aligncheck.film.frames import frames, plan
from aligncheck.record.gallery import Gallery, gather_record
from aligncheck.record.handout import handout_pdf
from aligncheck.record.names import slug
from aligncheck.record.page import is_our_page, page_html, stage_cards
from aligncheck.record.record import open_record

#: Longest side of the film by the number of stages, px: hundreds of stages rush past anyway.
FILMS_PX = ((60, 720), (200, 480), (100_000, 320))
FILM_RANGE_PX = (64, 2160)
#: A film in the page makes it larger by a third more than its own size; beyond this it only lies beside it.
LARGEST_IN_PAGE = 12_000_000
#: What is told of the work: how far it is, of how much.
Progress = Callable[[int, int], None]


def export_record(
    folder: Path, out: Path, film_edge_px: int | None = None, progress: Progress | None = None
) -> list[Path]:
    """Write page, handout and film of the record in `folder` into `out`; the files written.

    Parameters
    ----------
    film_edge_px : int, optional
        Longest side of the film's picture; 0: no film.

    Raises
    ------
    RecordError
        ``no_record``, ``no_stages`` and the like.
    OutputError
        ``not_ours`` where other files have these names; where the system refuses. Then nothing has changed.
    """
    record = open_record(folder)
    count = sum(s.present for s in record.stages)
    edge = _edge(film_edge_px, count)
    work = _Work(progress, count, films=2 if edge else 0)
    gallery = gather_record(record, work.step)
    name = slug(record.piece.name) or "piece"
    contents: dict[Path, bytes] = {}
    cards = stage_cards(gallery, work.step)
    video = None
    if edge:
        video, contents[out / f"{name}-film.webp"] = _film(gallery, edge, work)
        if video:
            contents[out / f"{name}-film.mp4"] = video
    shown = video if video and len(video) <= LARGEST_IN_PAGE else None
    contents[out / f"{name}-handout.pdf"] = handout_pdf(gallery)
    page = out / f"{name}.html"
    contents[page] = page_html(gallery, cards, shown, [path.name for path in contents])
    # Beside a page of ours these names are those of an earlier export, which is made anew as often as one likes.
    write_all(contents, lambda path: path.is_file() and not path.is_symlink() and is_our_page(page))
    return list(contents)


def _film(gallery: Gallery, edge_px: int, work: "_Work") -> tuple[bytes | None, bytes]:
    """The film as MP4, where that can be made, and as animated WebP."""
    captions = [gallery.caption(k) for k in range(len(gallery.stages))]
    seconds = [shot.seconds for shot in plan(len(gallery.stages))]

    def reel() -> Iterator[Frame]:
        return work.along(frames(gallery.views, captions, edge_px), len(seconds))

    # The one mostly waits for its encoder, a program of its own.
    with ThreadPoolExecutor(1) as other:
        video = other.submit(lambda: mp4(reel()))
        pictures = webp(reel(), seconds)
        return video.result(), pictures


def _edge(asked_px: int | None, count: int) -> int:
    if asked_px is None:
        return next(px for most, px in FILMS_PX if count <= most)
    if asked_px and not FILM_RANGE_PX[0] <= asked_px <= FILM_RANGE_PX[1]:
        raise InputError("bad_edge", text=asked_px)
    return asked_px


class _Work:
    """Counts the work: each stage read once, drawn once for the page, and once for each film."""

    def __init__(self, progress: Progress | None, stages: int, films: int):
        self._progress, self._stages, self._done = progress, stages, 0.0
        self._all = stages * (2 + films)
        self._lock = Lock()

    def step(self, share: float = 1.0) -> None:
        """One more stage, or a part of one, is done."""
        with self._lock:
            self._done += share
            if self._progress:
                self._progress(round(self._done), self._all)

    def along(self, frames: Iterator[Frame], count: int) -> Iterator[Frame]:
        """The same frames, counted as they are taken: together one step a stage."""
        for frame in frames:
            yield frame
            self.step(self._stages / count)
