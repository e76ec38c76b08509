"""The bench itself, the overview of a class, and the overhead camera."""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from aligncheck.bench import show
from aligncheck.bench.answers import page, see, with_place
from aligncheck.bench.asking import desk_of, is_host, place_of, remember
from aligncheck.bench.guard import TOKEN_COOKIE, token_in
from aligncheck.bench.later import shown_rows
from aligncheck.bench.places import Place
from aligncheck.bench.uploads import Refused, read_form

#: So many of a place's photos are listed.
LAST = 6


async def home(request: Request) -> Response:
    """The big button, and what is on the bench."""
    desk, place = desk_of(request), place_of(request)
    if "token" in request.query_params:
        # The token leaves the address at once: there others could read it over a shoulder or in a history.
        answer = see("/")
        token = token_in(request.scope["query_string"]) or ""
        if not desk.settings.lan:
            # Nothing here asks for a token, and what a client sends is not handed back.
            return answer
        answer.set_cookie(TOKEN_COOKIE, token, httponly=True, samesite="lax", path="/")
        return answer
    shown = place or Place("", "", 0, None, desk.settings.panel, desk.settings.segments, desk.settings.tolerance_mm)
    before = desk.jobs.get(request.query_params.get("again", ""))
    jobs = [job for job in map(desk.jobs.get, reversed(shown.jobs)) if job][:LAST]
    return page(
        "home",
        place=shown,
        pieces=desk.pieces.all(),
        piece=desk.pieces.get(shown.piece),
        before=before.id if before and place and before.place == place.id else None,
        last=[{"job": job, "head": show.headline(job), "time": show.time_words(job)} for job in jobs],
        is_host=is_host(request),
        many=desk.settings.lan,
        watching=desk.settings.watch is not None,
        size=show.size_words(shown.panel) if shown.panel else None,
        limit=desk.settings.max_upload_bytes,
    )


async def set_place(request: Request) -> Response:
    """Remember name, panel and piece of a place."""
    desk = desk_of(request)
    fields = await read_form(request)
    place = place_of(request) or desk.new_place()
    remember(request, fields, place)
    return with_place(see("/"), place.id)


async def overview(request: Request) -> Response:
    """All places, for the one who teaches."""
    rows = _rows(request)
    counts = {
        "fits": sum(r["kind"] == "fits" for r in rows),
        "moves": sum(r["kind"] == "move" for r in rows),
    }
    counts["others"] = len(rows) - counts["fits"] - counts["moves"]
    return page("class", rows=rows, counts=counts)


async def overview_state(request: Request) -> Response:
    """The same for scripts."""
    return JSONResponse({"places": _rows(request)})


def _rows(request: Request) -> list[dict[str, Any]]:
    if not is_host(request):
        raise Refused(403, "not_here")
    desk = desk_of(request)
    return [show.place_row(desk, place) for place in desk.places.all() if place.jobs]


async def live(request: Request) -> Response:
    """The newest photo of the overhead camera."""
    desk = desk_of(request)
    if desk.settings.watch is None:
        raise Refused(404, "not_found")
    place = desk.overhead()
    jobs = [job for job in map(desk.jobs.get, place.jobs) if job]
    job = jobs[-1] if jobs else None
    return page(
        "live",
        place=place,
        job=job,
        head=show.headline(job) if job else None,
        size=show.size_words(place.panel) if place.panel else None,
        time=show.time_words(job) if job else None,
        moves=show.moves(job.answer) if job and job.answer else [],
        later=shown_rows(job.answer.get("later", [])) if job and job.answer else [],
        arrows=show.arrows_words(job.answer) if job and job.answer else None,
        refusal=show.refusal(job) if job and not job.is_open and not job.answer else None,
    )


async def set_live(request: Request) -> Response:
    """Say what lies under the overhead camera."""
    desk = desk_of(request)
    if desk.settings.watch is None:
        raise Refused(404, "not_found")
    remember(request, await read_form(request), desk.overhead())
    return see("/live")
