"""The web app: addresses, and what becomes of errors."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

import aligncheck.overlay
from aligncheck.bench import events, photo_pages, piece_pages, place_pages
from aligncheck.bench.answers import page, turned_down, wants_json
from aligncheck.bench.desk import Desk
from aligncheck.bench.guard import Guard
from aligncheck.bench.openapi import DESCRIPTION
from aligncheck.bench.settings import Settings
from aligncheck.bench.uploads import Refused
from aligncheck.bench.watching import watch_folder
from aligncheck.bench.words import refused
from aligncheck.errors import AligncheckError

STATIC = Path(__file__).parent / "static"
TYPE = Path(aligncheck.overlay.__file__).parent / "type"
FONTS = {"regular": "ClearSans-Regular.ttf", "bold": "ClearSans-Bold.ttf"}


def make_app(settings: Settings) -> Starlette:
    """The app of one run; its desk is ``app.state.desk``."""
    desk = Desk(settings)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        await desk.open()
        try:
            if settings.watch is None:
                yield
            else:
                async with watch_folder(desk, settings.watch):
                    yield
        finally:
            await desk.close()

    app = Starlette(
        routes=_routes(),
        lifespan=lifespan,
        middleware=[Middleware(Guard, settings=settings, turn=_turn)],
        exception_handlers={
            HTTPException: _http_error,
            Refused: _refused,
            AligncheckError: _slip,
            UnicodeError: _nonsense,
            Exception: _broken,
        },
    )
    app.state.desk = desk
    return app


def _routes() -> list[Any]:
    photo = "/photos/{job}"
    return [
        Route("/", place_pages.home, methods=["GET"]),
        Route("/place", place_pages.set_place, methods=["POST"]),
        Route("/photos", photo_pages.send_photo, methods=["POST"]),
        Route(photo, photo_pages.photo_page, methods=["GET"]),
        Route(f"{photo}/state", photo_pages.photo_state, methods=["GET"]),
        Route(f"{photo}/result", photo_pages.photo_result, methods=["GET"]),
        Route(f"{photo}/events", events.photo_events, methods=["GET"]),
        Route(f"{photo}/stop", photo_pages.stop, methods=["POST"]),
        Route(f"{photo}/again", photo_pages.again, methods=["POST"]),
        Route(f"{photo}/keep", photo_pages.keep_form, methods=["GET"]),
        Route(f"{photo}/keep", photo_pages.keep, methods=["POST"]),
        Route(f"{photo}/corners", photo_pages.corners_form, methods=["GET"]),
        Route(f"{photo}/corners", photo_pages.corners, methods=["POST"]),
        Route(f"{photo}/{{name}}.jpg", photo_pages.picture, methods=["GET"]),
        Route("/class", place_pages.overview, methods=["GET"]),
        Route("/class/state", place_pages.overview_state, methods=["GET"]),
        Route("/class/events", events.overview_events, methods=["GET"]),
        Route("/live", place_pages.live, methods=["GET"]),
        Route("/live", place_pages.set_live, methods=["POST"]),
        Route("/live/events", events.live_events, methods=["GET"]),
        Route("/pieces/{piece}", piece_pages.record_page, methods=["GET"]),
        Route("/pieces/{piece}/{number}.jpg", piece_pages.stage_picture, methods=["GET"]),
        Route("/openapi.json", _openapi, methods=["GET"]),
        Route("/static/type/{font}.ttf", _font, methods=["GET"]),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]


async def _openapi(_: Request) -> Response:
    """The description of all addresses."""
    return JSONResponse(DESCRIPTION)


async def _font(request: Request) -> Response:
    """The face that the overlays are lettered in."""
    name = FONTS.get(request.path_params["font"])
    if name is None:
        raise Refused(404, "not_found")
    return FileResponse(TYPE / name, media_type="font/ttf", headers={"cache-control": "public, max-age=86400"})


def _turn(scope: Any, status: int, key: str) -> Response:
    return turned_down(Request(scope), status, key)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refused)  # noqa: S101 - the app calls this for nothing else
    return turned_down(request, error.status, error.key, **error.values)


async def _slip(request: Request, error: Exception) -> Response:
    """What cannot be understood of a form."""
    assert isinstance(error, AligncheckError)  # noqa: S101
    reason, todo = refused(error.code, error.values)
    words = " ".join([reason, *todo])
    if wants_json(request.headers):
        return JSONResponse({"error": error.code, "text": words}, 422)
    return page("message", 422, words=words)


async def _http_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101
    key = {404: "not_found", 405: "method"}.get(error.status_code, "bad_request")
    answer = turned_down(request, error.status_code, key)
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


async def _broken(request: Request, _: Exception) -> Response:
    """A fault of ours; the traceback goes to the terminal."""
    return turned_down(request, 500, "broken")


async def _nonsense(request: Request, _: Exception) -> Response:
    """Bytes that are no text where text belongs."""
    return turned_down(request, 400, "bad_request")
