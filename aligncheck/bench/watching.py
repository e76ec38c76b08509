"""A camera over the bench: every new photo in a watched folder is measured by itself."""

import asyncio
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from aligncheck.bench.desk import Desk
from aligncheck.bench.jobs import PHOTO_FILE, Job
from aligncheck.errors import PhotoError
from aligncheck.photo.kind import readers_for
from aligncheck.result.ours import is_our_picture

#: How often the folder is looked at. A file counts as whole when it has not changed between two looks.
LOOK_S = 0.5
HEAD_BYTES = 512

Seen = dict[Path, tuple[int, int]]


@asynccontextmanager
async def watch_folder(desk: Desk, folder: Path) -> AsyncIterator[None]:
    """Watch while the context is open; what lies in the folder already is left alone."""
    known = await asyncio.to_thread(_listing, folder)
    task = asyncio.create_task(_watch(desk, folder, known))
    try:
        yield
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


async def _watch(desk: Desk, folder: Path, known: Seen) -> None:
    growing: Seen = {}
    while True:
        await asyncio.sleep(LOOK_S)
        place = desk.overhead()
        listing = await asyncio.to_thread(_listing, folder)
        fresh = {path: stamp for path, stamp in listing.items() if known.get(path) != stamp}
        whole = [path for path, stamp in fresh.items() if growing.get(path) == stamp and stamp[1] > 0]
        growing = fresh
        if not place.panel:
            # Nobody has said yet how large the panel is; the photos wait in their folder.
            continue
        for path in sorted(whole, key=lambda p: listing[p]):
            known[path] = listing[path]
            if await asyncio.to_thread(_is_photo, path):
                await _measure(desk, path)


async def _measure(desk: Desk, path: Path) -> None:
    """Copy a photo (whoever put it there may take it away again) and have it measured."""
    place = desk.overhead()
    job_id, home = desk.jobs.new_home()
    try:
        if path.stat().st_size > desk.settings.max_upload_bytes:
            raise OSError
        await asyncio.to_thread(shutil.copyfile, path, home / PHOTO_FILE)
    except OSError:
        shutil.rmtree(home, ignore_errors=True)
        return
    before = next((j for j in map(desk.jobs.get, reversed(place.jobs)) if j and j.answer), None)
    job = Job.sent_from(place, job_id)
    job.before, job.source = before.id if before else None, "watched"
    desk.measure(job, place)


def _listing(folder: Path) -> Seen:
    """Files in the folder with time and size; none where it cannot be read just now."""
    found: Seen = {}
    with suppress(OSError):
        for path in folder.iterdir():
            with suppress(OSError):
                stat = path.stat()
                if path.is_file() and not path.name.startswith("."):
                    found[path] = (stat.st_mtime_ns, stat.st_size)
    return found


def _is_photo(path: Path) -> bool:
    """Whether a file is a picture, and not one of ours."""
    try:
        with path.open("rb") as file:
            readers_for(file.read(HEAD_BYTES))
    except (OSError, PhotoError):
        return False
    return not is_our_picture(path)
