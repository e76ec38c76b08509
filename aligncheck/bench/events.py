"""News as it happens: server-sent events of one photo, of the overview, and of the overhead camera."""

import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from aligncheck.bench import show
from aligncheck.bench.asking import desk_of, is_host, job_of
from aligncheck.bench.desk import Desk
from aligncheck.bench.uploads import Refused

#: A line in silence, so that proxies and phones keep the connection; and how often a waiting time is told anew.
PING_S, TICK_S = 15.0, 1.0


async def photo_events(request: Request) -> Response:
    """A photo's state, each time it changes, until nothing more is to come."""
    desk, job = desk_of(request), job_of(request)

    def is_over() -> bool:
        flat = job.state != "done" or "flat-dark" in job.pictures
        return not job.is_open and flat and job.kept.get("state") != "keeping"

    return _stream(desk, request, lambda: show.state(desk, job), is_over, TICK_S)


async def overview_events(request: Request) -> Response:
    """A number that changes with anything: the overview then fetches itself anew."""
    if not is_host(request):
        raise Refused(403, "not_here")
    desk = desk_of(request)
    return _stream(desk, request, lambda: {"version": sum(j.version + 1 for j in desk.jobs)}, lambda: False, PING_S)


async def live_events(request: Request) -> Response:
    """Which photo of the overhead camera is the newest, and its state."""
    desk = desk_of(request)
    if desk.settings.watch is None:
        raise Refused(404, "not_found")

    def newest() -> dict[str, Any]:
        jobs = [job for job in map(desk.jobs.get, desk.overhead().jobs) if job]
        return {"id": jobs[-1].id, "state": jobs[-1].state} if jobs else {"id": None, "state": None}

    return _stream(desk, request, newest, lambda: False, PING_S)


def _stream(
    desk: Desk, request: Request, tell: Callable[[], dict[str, Any]], is_over: Callable[[], bool], wait_s: float
) -> Response:
    """Tell at once, then whenever what is told has changed."""

    async def lines() -> AsyncIterator[bytes]:
        last = None
        while not desk.closing:
            over = is_over()
            now = tell()
            if now != last:
                last = now
                yield b"data: " + json.dumps(now).encode() + b"\n\n"
            else:
                yield b": still here\n\n"
            if over or await request.is_disconnected():
                return
            await desk.news(wait_s)

    return StreamingResponse(lines(), media_type="text/event-stream", headers={"x-accel-buffering": "no"})
