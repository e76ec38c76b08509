"""What a request asks for: its desk, place, job and what its form says of the panel."""

from dataclasses import dataclass

from starlette.requests import Request

from aligncheck.bench.desk import OVERHEAD, Desk
from aligncheck.bench.guard import PLACE_COOKIE
from aligncheck.bench.jobs import Job
from aligncheck.bench.places import Place, clean_name
from aligncheck.bench.uploads import Refused, text
from aligncheck.errors import InputError
from aligncheck.layout.read import SEGMENTS_RANGE
from aligncheck.units import parse_length, parse_size


def desk_of(request: Request) -> Desk:
    """The desk of this app."""
    desk: Desk = request.app.state.desk
    return desk


def place_of(request: Request) -> Place | None:
    """The place of whoever asks, if it has one."""
    cookie = request.cookies.get(PLACE_COOKIE)
    # The overhead camera's place is no phone's to take.
    return desk_of(request).place(cookie) if cookie != OVERHEAD else None


def is_host(request: Request) -> bool:
    """Whether the one who sees all places asks."""
    return request.scope.get("level") == "host"


def job_of(request: Request) -> Job:
    """The job in the address, where this place may see it.

    Raises
    ------
    Refused
    """
    desk = desk_of(request)
    job = desk.jobs.get(request.path_params["job"])
    if job is None:
        raise Refused(404, "not_found")
    place = place_of(request)
    if is_host(request) or job.place == OVERHEAD or (place and place.id == job.place):
        return job
    raise Refused(403, "not_here")


@dataclass(frozen=True)
class Panel:
    """What a form says of the panel."""

    panel: str
    segments: int | None
    tolerance_mm: float | None


def panel_of(fields: dict[str, str], default: Place | None) -> Panel:
    """Size, spokes and tolerance, checked; what the form leaves out is the place's.

    Raises
    ------
    InputError
    """
    size = text(fields, "panel") or (default.panel if default else None) or ""
    parse_size(size)
    segments, tolerance = text(fields, "segments"), text(fields, "tolerance")
    if "segments" not in fields and default:
        segments = str(default.segments or "")
    if "tolerance" not in fields and default:
        tolerance = str(default.tolerance_mm or "")
    return Panel(size, _segments(segments), _tolerance(tolerance))


def _segments(words: str) -> int | None:
    if not words:
        return None
    least, most = SEGMENTS_RANGE
    if not (words.isascii() and words.isdecimal() and len(words) < 5 and least <= int(words) <= most):
        raise InputError("bad_segments", text=words)
    return int(words)


def _tolerance(words: str) -> float | None:
    if not words:
        return None
    value = parse_length(words, "tolerance")
    if not 0 < value < 1000:
        raise InputError("bad_tolerance", text=words)
    return value


def remember(request: Request, fields: dict[str, str], place: Place) -> None:
    """Enter what a form says into its place: name, panel, piece.

    Raises
    ------
    AligncheckError, Refused
    """
    desk = desk_of(request)
    name = clean_name(text(fields, "name"))
    if name:
        place.name = name
    before = place.piece
    if "piece" in fields:
        chosen = text(fields, "piece")
        if chosen and desk.pieces.folder(chosen) is None:
            raise Refused(404, "not_found")
        place.piece = chosen or None
    fresh = clean_name(text(fields, "new_piece"))
    piece = desk.pieces.get(place.piece)
    if piece and place.piece != before and not fresh:
        # Another piece was chosen: what its record says of the panel goes before what the form still held.
        place.panel, place.segments, place.tolerance_mm = piece.panel, piece.segments, piece.tolerance_mm
        return
    told = panel_of(fields, place)
    place.panel, place.segments, place.tolerance_mm = told.panel, told.segments, told.tolerance_mm
    if fresh:
        place.piece = desk.pieces.new(fresh, told.panel, told.segments, told.tolerance_mm).id
    elif place.piece and "panel" in fields:
        desk.pieces.remember(place.piece, told.panel, told.segments, told.tolerance_mm)
