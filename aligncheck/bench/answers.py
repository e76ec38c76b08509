"""Answers to requests: pages from templates, JSON for scripts, and the one that turns a request down."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from aligncheck.bench import dials
from aligncheck.bench.guard import PLACE_COOKIE
from aligncheck.bench.words import TEXT, say

#: A term of lessons; the place is only a name for photos on this computer.
COOKIE_S = 180 * 86_400


@lru_cache(maxsize=1)
def templates() -> jinja2.Environment:
    """The templates; everything that is put into them is escaped."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("aligncheck.bench"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"t": TEXT, "say": say, "beads": dials.beads}
    return environment


def page(name: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page from its template."""
    return HTMLResponse(templates().get_template(f"{name}.html").render(**values), status)


def wants_json(headers: Mapping[str, str]) -> bool:
    """Whether a script asks, and no person."""
    return "application/json" in headers.get("accept", "")


def turned_down(request: Request, status: int, key: str, **values: object) -> Response:
    """A request that is not done, with its reason in plain words."""
    words = say(key, **values)
    if wants_json(request.headers):
        return JSONResponse({"error": key, "text": words}, status)
    return page("message", status, words=words)


def see(path: str) -> RedirectResponse:
    """Send the browser on after a form."""
    return RedirectResponse(path, 303)


def with_place(response: Response, place_id: str) -> Response:
    """Give the phone its place's cookie."""
    response.set_cookie(PLACE_COOKIE, place_id, max_age=COOKIE_S, httponly=True, samesite="lax", path="/")
    return response
