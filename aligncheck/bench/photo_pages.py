"""Photos in, answers out: what the phone does with one photo."""

from shutil import rmtree
from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from aligncheck.bench import show
from aligncheck.bench.answers import page, see, wants_json, with_place
from aligncheck.bench.asking import desk_of, is_host, job_of, place_of, remember
from aligncheck.bench.compare import since
from aligncheck.bench.jobs import PHOTO_FILE, Job
from aligncheck.bench.later import shown_rows
from aligncheck.bench.places import Place
from aligncheck.bench.uploads import PhotoSink, Refused, read_form, text
from aligncheck.errors import AligncheckError


async def send_photo(request: Request) -> Response:
    """Take in a photo, have it measured, and show the way to its answer."""
    desk, place = desk_of(request), place_of(request)
    desk.require_room(place)
    job_id, home = desk.jobs.new_home()
    sink = PhotoSink(home / PHOTO_FILE, desk.settings.max_upload_bytes)
    try:
        fields = await read_form(request, sink)
        if sink.refused:
            raise sink.refused
        if not sink.size:
            raise Refused(400, "no_photo")
        place = place or desk.new_place()
        slip = _slip(request, fields, place)
        desk.require_room(place)
    except BaseException:
        sink.let_go()
        rmtree(home, ignore_errors=True)
        raise
    before = desk.jobs.get(text(fields, "before"))
    job = Job.sent_from(place, job_id)
    job.before = before.id if before and before.place == place.id else None
    if slip:
        # The photo is kept; only the slip has to be mended.
        job.panel, job.state, job.refusal = text(fields, "panel") or job.panel, "refused", slip
    desk.measure(job, place)
    answer = JSONResponse(show.state(desk, job), 201) if wants_json(request.headers) else see(f"/photos/{job.id}")
    return with_place(answer, place.id)


def _slip(request: Request, fields: dict[str, str], place: Place) -> dict[str, Any] | None:
    """Enter what the form says; what is wrong with it, if something is."""
    try:
        remember(request, fields, place)
    except AligncheckError as error:
        return {"code": error.code, "values": {k: str(v) for k, v in error.values.items()}}
    return None


async def photo_page(request: Request) -> Response:
    """The page of one photo, in the state that it is in."""
    desk, job = desk_of(request), job_of(request)
    values: dict[str, Any] = {
        "job": job,
        "size": show.size_words(job.panel),
        "time": show.time_words(job),
        "head": show.headline(job),
        "kept": show.kept_words(job),
        "piece": desk.pieces.get(job.piece),
        "is_host": is_host(request),
    }
    if job.is_open:
        return page("waiting", **values, wait=show.waiting(desk, job))
    if job.answer is None:
        return page("refused", **values, refusal=show.refusal(job))
    return page("result", **values, **_result(request, job, job.answer))


def _result(request: Request, job: Job, answer: dict[str, Any]) -> dict[str, Any]:
    """What the result page holds beyond its head."""
    before = desk_of(request).jobs.get(job.before or "")
    compared = since(before.answer, answer) if before and before.answer else None
    return {
        "answer": answer,
        "view": "flat" if request.query_params.get("view") == "flat" else "photo",
        "flat_ready": "flat-dark" in job.pictures,
        "moves": show.moves(answer),
        "later": shown_rows(answer.get("later", [])),
        "close": show.close(answer),
        "close_words": show.close_words(answer),
        "figures": show.figures(answer),
        "arrows": show.arrows_words(answer),
        "before": before if compared else None,
        "compared": compared,
    }


async def photo_state(request: Request) -> Response:
    """How far it is, for the page's script."""
    return JSONResponse(show.state(desk_of(request), job_of(request)))


async def photo_result(request: Request) -> Response:
    """The findings as plain values."""
    job = job_of(request)
    return JSONResponse({"state": job.state, "answer": job.answer})


async def picture(request: Request) -> Response:
    """One of the pictures that we drew; the photo itself, with what its camera wrote into it, is never sent back."""
    path = desk_of(request).jobs.picture(job_of(request), request.path_params["name"])
    if path is None or not path.is_file():
        raise Refused(404, "not_found")
    return FileResponse(path, media_type="image/jpeg", headers={"cache-control": "private, max-age=600"})


async def stop(request: Request) -> Response:
    """Give it up."""
    job = job_of(request)
    desk_of(request).stop(job)
    return see(f"/photos/{job.id}")


async def again(request: Request) -> Response:
    """Measure the same photo once more."""
    desk, job = desk_of(request), job_of(request)
    fields = await read_form(request)
    place = desk.place(job.place)
    if job.is_open or place is None:
        return see(f"/photos/{job.id}")
    if "panel" in fields:
        slip = _slip(request, fields, place)
        if slip:
            job.refusal = slip
            return see(f"/photos/{job.id}")
        job.panel, job.segments, job.tolerance_mm = place.panel or "", place.segments, place.tolerance_mm
    desk.require_room(place)
    desk.again(job)
    return see(f"/photos/{job.id}")


async def keep_form(request: Request) -> Response:
    """Ask where and as what a photo shall be kept."""
    desk, job = desk_of(request), job_of(request)
    return page("keep", job=job, pieces=desk.pieces.all(), problem=None)


async def keep(request: Request) -> Response:
    """Keep a photo as a stage of its piece."""
    desk, job = desk_of(request), job_of(request)
    fields = await read_form(request)
    place = desk.place(job.place)
    if place is None or job.is_open:
        raise Refused(404, "not_found")
    if "piece" in fields or text(fields, "new_piece"):
        # The photo was of this panel, whatever the place has photographed since.
        as_it_was = {"panel": job.panel, "segments": str(job.segments or ""), "tolerance": str(job.tolerance_mm or "")}
        remember(request, {**as_it_was, **fields}, place)
        job.piece = place.piece
    if desk.pieces.folder(job.piece) is None:
        return page("keep", 422, job=job, pieces=desk.pieces.all(), problem="need_piece")
    desk.keep(job, text(fields, "stage"))
    return see(f"/photos/{job.id}")


async def corners_form(request: Request) -> Response:
    """Mark the corners: by dragging, or without a script by tapping them one after the other."""
    job = job_of(request)
    if "preview" not in job.pictures or not job.size_px:
        raise Refused(404, "not_found")
    marked = _marked(request, job)
    return page("corners", job=job, size=job.size_px, marked=marked, start=_start(job), shown=_shown(job))


def _shown(job: Job) -> tuple[int, int]:
    """Width and height (px) at which the picture for tapping is shown."""
    width, height = job.size_px or [1, 1]
    return 360, max(1, round(360 * height / width))


def _start(job: Job) -> list[list[float]]:
    """Where the four rings stand at first: on what was found, or well inside the picture."""
    if job.found_px or job.corners_px:
        return job.found_px or job.corners_px or []
    width, height = job.size_px or [1, 1]
    return [[width * x, height * y] for x, y in ((0.2, 0.2), (0.8, 0.2), (0.8, 0.8), (0.2, 0.8))]


def _marked(request: Request, job: Job) -> list[list[float]]:
    """Corners tapped so far: those in the address, and the one that was tapped just now."""
    marked = _points(request.query_params.get("marked", ""))[:4]
    x, y = request.query_params.get("tap.x", ""), request.query_params.get("tap.y", "")
    if x.isascii() and y.isascii() and x.isdecimal() and y.isdecimal() and len(x + y) < 12 and len(marked) < 4:
        width, height = job.size_px or [1, 1]
        across, down = _shown(job)
        marked.append([round((int(x) + 0.5) / across * width, 1), round((int(y) + 0.5) / down * height, 1)])
    return marked


def _points(words: str) -> list[list[float]]:
    """Points written as ``x,y x,y``; what is no point is left out."""
    found = []
    for part in words.split()[:8]:
        x, _, y = part.partition(",")
        try:
            point = [float(x), float(y)]
        except ValueError:
            continue
        if all(-1e5 < v < 1e5 for v in point):
            found.append(point)
    return found


async def corners(request: Request) -> Response:
    """Measure the same photo with corners by hand."""
    desk, old = desk_of(request), job_of(request)
    fields = await read_form(request)
    points = _points(text(fields, "corners", 400))
    place = desk.place(old.place)
    if len(points) != 4 or not old.size_px or place is None or old.is_open:
        raise Refused(422, "bad_request")
    width, height = old.size_px
    inside = [[min(max(x, 0.0), width - 1.0), min(max(y, 0.0), height - 1.0)] for x, y in points]
    old.corners_px, old.before = inside, old.before
    desk.again(old)
    return see(f"/photos/{old.id}")
