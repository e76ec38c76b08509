"""The OpenAPI description of all addresses, for tests that try to break them and for other programs."""

from typing import Any

from aligncheck import __version__

_PAGE = {"description": "A page.", "content": {"text/html": {"schema": {"type": "string"}}}}
_SEE = {"description": "Done; see the page named in Location."}
_PICTURE = {"description": "A picture.", "content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
_EVENTS = {"description": "Server-sent events.", "content": {"text/event-stream": {"schema": {"type": "string"}}}}
_JSON = {"description": "Values.", "content": {"application/json": {"schema": {"type": "object"}}}}
_BOTH = {"description": "Turned down, with the reason.", "content": {**_PAGE["content"], **_JSON["content"]}}  # type: ignore[dict-item]
_TEXT = {"type": "string", "maxLength": 120}
_PANEL = {
    "panel": {**_TEXT, "examples": ["12x12in", "30x40cm"]},
    "segments": _TEXT,
    "tolerance": _TEXT,
    "piece": _TEXT,
    "new_piece": _TEXT,
    "name": _TEXT,
}


def _form(kind: str, properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    schema = {"type": "object", "properties": properties, "required": required}
    return {"required": True, "content": {kind: {"schema": schema}}}


def _does(name: str, answers: dict[str, Any], body: dict[str, Any] | None = None) -> dict[str, Any]:
    operation = {"operationId": name, "responses": {**answers, "4XX": _BOTH}}
    return {**operation, "requestBody": body} if body else operation


def _with_id(name: str, operations: dict[str, Any], more: tuple[str, ...] = ()) -> dict[str, Any]:
    parameters = [{"name": n, "in": "path", "required": True, "schema": {"type": "string"}} for n in (name, *more)]
    return {"parameters": parameters, **operations}


_URLENCODED = "application/x-www-form-urlencoded"
_PHOTO = {"photo": {"type": "string", "format": "binary"}, **_PANEL, "before": _TEXT}

DESCRIPTION: dict[str, Any] = {
    "openapi": "3.1.0",
    "info": {"title": "aligncheck bench", "version": __version__},
    "paths": {
        "/": {"get": _does("home", {"200": _PAGE, "303": _SEE})},
        "/place": {"post": _does("set_place", {"303": _SEE}, _form(_URLENCODED, _PANEL, []))},
        "/photos": {
            "post": _does("send_photo", {"201": _JSON, "303": _SEE}, _form("multipart/form-data", _PHOTO, ["photo"]))
        },
        "/photos/{job}": _with_id("job", {"get": _does("photo_page", {"200": _PAGE})}),
        "/photos/{job}/state": _with_id("job", {"get": _does("photo_state", {"200": _JSON})}),
        "/photos/{job}/result": _with_id("job", {"get": _does("photo_result", {"200": _JSON})}),
        "/photos/{job}/events": _with_id("job", {"get": _does("photo_events", {"200": _EVENTS})}),
        "/photos/{job}/stop": _with_id("job", {"post": _does("stop", {"303": _SEE})}),
        "/photos/{job}/again": _with_id("job", {"post": _does("again", {"303": _SEE}, _form(_URLENCODED, _PANEL, []))}),
        "/photos/{job}/keep": _with_id(
            "job",
            {
                "get": _does("keep_form", {"200": _PAGE}),
                "post": _does("keep", {"303": _SEE}, _form(_URLENCODED, {**_PANEL, "stage": _TEXT}, [])),
            },
        ),
        "/photos/{job}/corners": _with_id(
            "job",
            {
                "get": _does("corners_form", {"200": _PAGE}),
                "post": _does("corners", {"303": _SEE}, _form(_URLENCODED, {"corners": {"type": "string"}}, [])),
            },
        ),
        "/photos/{job}/{name}.jpg": _with_id("job", {"get": _does("picture", {"200": _PICTURE})}, ("name",)),
        "/class": {"get": _does("overview", {"200": _PAGE})},
        "/class/state": {"get": _does("overview_state", {"200": _JSON})},
        "/class/events": {"get": _does("overview_events", {"200": _EVENTS})},
        "/live": {
            "get": _does("live", {"200": _PAGE}),
            "post": _does("set_live", {"303": _SEE}, _form(_URLENCODED, _PANEL, [])),
        },
        "/live/events": {"get": _does("live_events", {"200": _EVENTS})},
        "/pieces/{piece}": _with_id("piece", {"get": _does("record_page", {"200": _PAGE})}),
        "/pieces/{piece}/{number}.jpg": _with_id(
            "piece", {"get": _does("stage_picture", {"200": _PICTURE})}, ("number",)
        ),
    },
}
