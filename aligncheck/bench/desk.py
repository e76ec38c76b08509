"""Everything the page knows and does: places, jobs, the pool, and who waits for news. Used from the event loop only."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from aligncheck.bench.jobs import Job, Jobs, now
from aligncheck.bench.keeping import store_shown
from aligncheck.bench.pieces import Pieces
from aligncheck.bench.places import Place, Places
from aligncheck.bench.pool import Pool, PoolFull
from aligncheck.bench.settings import KEPT_BYTES, KEPT_JOBS, MAX_PLACES, Settings
from aligncheck.bench.uploads import Refused

KEEP = "keep:"
OVERHEAD = "overhead"


class Desk:
    """One run of the bench."""

    def __init__(self, settings: Settings):
        self.settings = settings
        self.jobs = Jobs(settings.folder / "photos", KEPT_JOBS, KEPT_BYTES)
        self.pieces = Pieces(settings.folder / "pieces")
        self.places = Places(MAX_PLACES)
        # Keeping comes on top of what waits to be measured.
        self.pool = Pool(
            settings.workers, settings.worker_data_bytes, settings.check_s, 2 * settings.max_waiting, self._listen
        )
        self._loop: asyncio.AbstractEventLoop | None = None
        self._news = asyncio.Event()
        self.closing = False

    async def open(self) -> None:
        """Start the workers, and measure what an earlier run left waiting."""
        self._loop = asyncio.get_running_loop()
        self.pool.start()
        for job in self.jobs.load():
            job.state, job.step, job.pictures = "waiting", "", []
            self._submit(job)

    async def close(self) -> None:
        """End the workers and let everybody who waits go."""
        self.closing = True
        self._tell_news()
        await asyncio.to_thread(self.pool.close)

    # places

    def place(self, place_id: str | None) -> Place | None:
        """The place of a cookie; one of an earlier run is known by its photos."""
        place = self.places.get(place_id)
        if place or not place_id:
            return place
        jobs = self.jobs.of_place(place_id)
        if not jobs:
            return None
        place = self.places.new(place_id=place_id)
        place.jobs = [job.id for job in jobs]
        place.panel, place.segments, place.tolerance_mm = jobs[-1].panel, jobs[-1].segments, jobs[-1].tolerance_mm
        place.piece = jobs[-1].piece
        return place

    def new_place(self, name: str = "", place_id: str | None = None) -> Place:
        """A new place, with what the command line says of the panel."""
        place = self.places.new(name, place_id)
        chosen = self.settings
        place.panel, place.segments, place.tolerance_mm = chosen.panel, chosen.segments, chosen.tolerance_mm
        return place

    def overhead(self) -> Place:
        """The place of the camera whose folder is watched."""
        return self.place(OVERHEAD) or self.new_place("Overhead camera", OVERHEAD)

    # jobs

    def require_room(self, place: Place | None) -> None:
        """Turn a photo down before it is read where too many wait already."""
        mine = sum(job.is_open for job in self.jobs.of_place(place.id)) if place else 0
        waiting = sum(job.is_open for job in self.jobs)
        if waiting >= self.settings.max_waiting or mine >= self.settings.max_waiting_a_place:
            raise Refused(429, "too_many")

    def measure(self, job: Job, place: Place) -> None:
        """Enter a job whose photo lies in its folder, and have it measured unless it is refused already."""
        self.jobs.add(job)
        place.jobs.append(job.id)
        if job.is_open:
            self._submit(job)
        self._changed(job)

    def again(self, job: Job) -> None:
        """Measure a job's photo once more."""
        job.state, job.step, job.refusal, job.answer, job.pictures = "waiting", "", None, None, []
        self._submit(job)
        self._changed(job)

    def stop(self, job: Job) -> None:
        """Give a job up; its photo stays."""
        if job.is_open:
            job.state = "stopped"
            self.pool.stop(job.id)
            self._changed(job)

    def keep(self, job: Job, title: str) -> None:
        """Put a job's photo into the record of its piece."""
        folder = self.pieces.folder(job.piece)
        if folder is None or job.kept.get("state") in ("keeping", "kept"):
            return
        job.kept = {"state": "keeping", "title": title}
        message = {
            "kind": "keep",
            "path": str(self.jobs.photo(job)),
            "folder": str(folder),
            "corners_px": job.corners_px,
        }
        try:
            self.pool.submit(KEEP + job.id, message, later=True)
        except PoolFull:
            job.kept = {}
            raise Refused(429, "too_many") from None
        self._changed(job)

    def seconds_left(self, job: Job) -> float:
        """About how long until the answer, from how long others took."""
        average = self.jobs.average_s()
        if job.state == "measuring" and job.started:
            return max(0.0, average - (now() - job.started))
        return average * (1 + self.pool.ahead(job.id) / self.settings.workers)

    async def news(self, timeout_s: float) -> None:
        """Wait until something has changed, but no longer than that."""
        with suppress(TimeoutError):
            await asyncio.wait_for(self._news.wait(), timeout_s)

    def _submit(self, job: Job) -> None:
        message = {
            "kind": "measure",
            "path": str(self.jobs.photo(job)),
            "panel": job.panel,
            "segments": job.segments,
            "tolerance_mm": job.tolerance_mm,
            "corners_px": job.corners_px,
        }
        try:
            self.pool.submit(job.id, message)
        except PoolFull:
            job.state, job.refusal = "failed", {"code": "worker_died", "values": {}}

    def _changed(self, job: Job) -> None:
        job.version += 1
        self.jobs.save(job)
        self._tell_news()

    def _tell_news(self) -> None:
        told, self._news = self._news, asyncio.Event()
        told.set()

    # what the workers say

    def _listen(self, task_id: str, message: dict[str, Any], blobs: dict[str, bytes]) -> None:
        """In a thread of the pool: put the bytes where they belong, then let the event loop know."""
        job = self.jobs.get(task_id.removeprefix(KEEP))
        if job is None or self._loop is None:
            return
        if task_id.startswith(KEEP):
            kept = self._kept(job, message, blobs)
            if kept:
                self._loop.call_soon_threadsafe(self._set_kept, job, kept)
            return
        for name, data in blobs.items():
            self.jobs.put_picture(job, name, data)
        self._loop.call_soon_threadsafe(self._apply, job, message, list(blobs))

    def _apply(self, job: Job, message: dict[str, Any], pictures: list[str]) -> None:
        """Enter what a worker says of a job."""
        event = message.get("event")
        # A worker that died after the answer is tried again, for the flat view: the answer stands meanwhile.
        over = job.state == "stopped" or (job.state == "done" and event in ("photo", "panel", "marks"))
        if over:
            return
        job.pictures = list(dict.fromkeys([*job.pictures, *pictures]))
        if event in _ENTER:
            _ENTER[event](job, message)
        self._changed(job)

    def _kept(self, job: Job, message: dict[str, Any], blobs: dict[str, bytes]) -> dict[str, Any] | None:
        """What became of keeping a photo, once it is known."""
        event = message.get("event")
        if event == "shown":
            return store_shown(self.pieces.folder(job.piece), self.jobs.photo(job), job, message["shown"], blobs)
        if event in ("refused", "failed", "stopped"):
            return {
                "state": "failed",
                "code": str(message.get("code", "worker_died")),
                "values": message.get("values", {}),
            }
        return None

    def _set_kept(self, job: Job, kept: dict[str, Any]) -> None:
        job.kept = kept
        self._changed(job)


def _photo(job: Job, message: dict[str, Any]) -> None:
    job.state, job.step, job.started, job.found_px = "measuring", "photo", now(), None
    job.size_px, job.taken = [int(message["width_px"]), int(message["height_px"])], message.get("taken")


def _panel(job: Job, message: dict[str, Any]) -> None:
    job.step, job.found_px = "panel", message.get("corners_px")


def _marks(job: Job, _: dict[str, Any]) -> None:
    job.step = "marks"


def _answer(job: Job, message: dict[str, Any]) -> None:
    job.state, job.answer = "done", message["answer"]
    if job.started:
        job.seconds = now() - job.started


def _refused(job: Job, message: dict[str, Any]) -> None:
    # What came with the flat view after the answer does not take the answer back.
    if job.state != "done":
        job.state, job.refusal = "refused", {"code": message.get("code"), "values": message.get("values") or {}}


def _failed(job: Job, message: dict[str, Any]) -> None:
    if job.state != "done":
        job.state, job.refusal = "failed", {"code": message.get("code"), "values": {}}


_ENTER: dict[Any, Callable[[Job, dict[str, Any]], None]] = {
    "photo": _photo,
    "panel": _panel,
    "marks": _marks,
    "answer": _answer,
    "refused": _refused,
    "failed": _failed,
}
