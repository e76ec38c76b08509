"""Who may come in, and what every answer carries: host names, tokens, cross-site requests, security headers."""

import ipaddress
import secrets
import socket
from collections.abc import Awaitable, Callable
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response

from aligncheck.bench.settings import Settings

Scope = dict[str, Any]
Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]
#: Makes the answer to a request that is turned down: status, key of its words.
Turn = Callable[[Scope, int, str], Response]

TOKEN_COOKIE, PLACE_COOKIE = "bench", "place"
#: Served to anyone: needed by the page that says that the code is missing.
OPEN_PATHS = ("/static/",)

CSP = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)
HEADERS = {
    "content-security-policy": CSP,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # With "no-referrer" browsers would send "Origin: null" with our own forms.
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), camera=(), usb=(), payment=()",
}


class Guard:
    """ASGI middleware around the whole app."""

    def __init__(self, app: App, settings: Settings, turn: Turn):
        self.app, self.settings, self.turn = app, settings, turn
        self.names = own_names()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, with its level in ``scope["level"]``, or turn it down."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(raw=message.setdefault("headers", []))
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        headers = Headers(raw=scope["headers"])
        refusal = self._refusal(scope, headers)
        answer: App = self.turn(scope, *refusal) if refusal else self.app  # type: ignore[assignment]
        await answer(scope, receive, send_guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and words where the request is turned down."""
        if not self._host_known(headers.get("host", "")):
            return 400, "bad_request"
        if scope["method"] not in ("GET", "HEAD") and not same_site(headers):
            return 403, "cross_site"
        scope["level"] = self.level(headers, scope.get("query_string", b""))
        if scope["level"] is None and not scope["path"].startswith(OPEN_PATHS):
            return 403, "no_token"
        return None

    def level(self, headers: Headers, query: bytes) -> str | None:
        """``host`` for the one who sees all places, ``guest`` for a phone, None for a stranger."""
        if not self.settings.lan:
            return "host"
        given = [cookie(headers, TOKEN_COOKIE), token_in(query)]
        for level, token in (("host", self.settings.host_token), ("guest", self.settings.token)):
            if any(secrets.compare_digest(g.encode("utf-8", "replace"), token.encode()) for g in given if g):
                return level
        return None

    def _host_known(self, host: str) -> bool:
        """Whether the request names this computer: a name of somebody else's could be bent to our address."""
        try:
            name = urlsplit(f"//{host}").hostname or ""
        except ValueError:
            return False
        try:
            ipaddress.ip_address(name)
            return True
        except ValueError:
            return name in self.names


def same_site(headers: Headers) -> bool:
    """Whether a request that changes something comes from our own page, or from no page at all."""
    fetched = headers.get("sec-fetch-site")
    if fetched is not None and fetched not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    if origin is None:
        return True
    try:
        return urlsplit(origin).netloc.casefold() == headers.get("host", "").casefold() and origin != "null"
    except ValueError:
        return False


def cookie(headers: Headers, name: str) -> str | None:
    """A cookie's value."""
    try:
        jar = SimpleCookie(headers.get("cookie", ""))
    except CookieError:
        return None
    return jar[name].value if name in jar else None


def token_in(query: bytes) -> str | None:
    """The token in an address's query."""
    for part in query.split(b"&"):
        if part.startswith(b"token="):
            return part[6:].decode("ascii", "replace")
    return None


def own_names() -> set[str]:
    """Names that this computer goes by."""
    host = socket.gethostname().casefold()
    return {"localhost", host, host.split(".")[0], f"{host.split('.')[0]}.local"}
