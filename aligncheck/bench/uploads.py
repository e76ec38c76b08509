"""Take in a form as it streams: a photo goes to the disk piece by piece, never into memory, and never beyond limits."""

import asyncio
import errno
from collections.abc import Mapping
from pathlib import Path
from typing import BinaryIO

from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header
from starlette.requests import ClientDisconnect, Request

from aligncheck.bench.settings import MAX_FIELD_BYTES, MAX_FORM_BYTES, SILENCE_S, UPLOAD_S
from aligncheck.errors import PhotoError
from aligncheck.photo.kind import readers_for

#: A photo's kind is told by so many of its first bytes.
SNIFF_BYTES = 512
MAX_FIELDS = 24


class Refused(Exception):  # noqa: N818 - an answer, not a fault
    """A request that is turned down, with its HTTP status and the key of its words."""

    def __init__(self, status: int, key: str, **values: object):
        self.status, self.key, self.values = status, key, values
        super().__init__(key)


class PhotoSink:
    """The photo of a form on its way to the disk."""

    def __init__(self, path: Path, most_bytes: int):
        self.path, self.most_bytes = path, most_bytes
        self.size = 0
        self._head = b""
        self._file: BinaryIO | None = None
        #: Why what comes is no photo; the rest is read and thrown away, so that the phone hears the answer.
        self.refused: Refused | None = None

    def write(self, data: bytes) -> None:
        """Take a piece."""
        self.size += len(data)
        if self.size > self.most_bytes:
            raise Refused(413, "too_large", limit=self.most_bytes // 1_000_000)
        if self.refused:
            return
        if self._file is None:
            self._head += data
            if len(self._head) < SNIFF_BYTES:
                return
            data = b""
            self._begin()
        if self._file is not None:
            self._put(data)

    def close(self) -> None:
        """The photo is complete."""
        if self._file is None and not self.refused and self._head:
            self._begin()
        self.let_go()

    def let_go(self) -> None:
        """Close the file, complete or not."""
        if self._file is not None:
            self._file.close()

    def _begin(self) -> None:
        """Look at the first bytes, then open the file."""
        try:
            readers_for(self._head)
        except PhotoError:
            self.refused = Refused(415, "not_a_photo")
            return
        self._file = self.path.open("xb")
        self._put(self._head)

    def _put(self, data: bytes) -> None:
        try:
            if self._file is not None:
                self._file.write(data)
        except OSError as error:
            full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            self.refused = Refused(413 if full else 400, "disk_full" if full else "cut_short")


class FormReader:
    """Parts of a multipart form: the photo to its sink, the other fields as text."""

    def __init__(self, boundary: bytes, sink: PhotoSink | None):
        self.fields: dict[str, str] = {}
        self.complete = False
        self._sink = sink
        self._field = self._value = b""
        self._headers: dict[bytes, bytes] = {}
        self._name = ""
        self._is_photo = False
        self._data = bytearray()
        self._parser = MultipartParser(
            boundary,
            {
                "on_part_begin": self._begin,
                "on_header_field": self._on_field,
                "on_header_value": self._on_value,
                "on_header_end": self._on_header,
                "on_headers_finished": self._on_headers,
                "on_part_data": self._on_data,
                "on_part_end": self._on_end,
                "on_end": self._on_all,
            },
        )

    def feed(self, data: bytes) -> None:
        """Take a piece of the request's body."""
        self._parser.write(data)

    def _begin(self) -> None:
        self._headers, self._data = {}, bytearray()
        self._field = self._value = b""

    def _on_field(self, data: bytes, start: int, end: int) -> None:
        self._field += data[start:end]

    def _on_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]

    def _on_header(self) -> None:
        self._headers[self._field.lower()] = self._value
        self._field = self._value = b""

    def _on_headers(self) -> None:
        kind, options = parse_options_header(self._headers.get(b"content-disposition", b""))
        if kind != b"form-data" or len(self.fields) >= MAX_FIELDS:
            raise Refused(400, "bad_request")
        self._name = options.get(b"name", b"").decode("utf-8", "replace")
        # The name that the phone gives the file is not even looked at.
        self._is_photo = self._name == "photo" and b"filename" in options

    def _on_data(self, data: bytes, start: int, end: int) -> None:
        if not self._is_photo:
            self._data += data[start:end]
            if len(self._data) > MAX_FIELD_BYTES:
                raise Refused(413, "bad_request")
        elif self._sink is not None:
            self._sink.write(data[start:end])

    def _on_end(self) -> None:
        if not self._is_photo:
            self.fields[self._name] = self._data.decode("utf-8", "replace")

    def _on_all(self) -> None:
        self.complete = True


async def read_form(request: Request, sink: PhotoSink | None = None) -> dict[str, str]:
    """The fields of a form; its photo goes into `sink`.

    Raises
    ------
    Refused
        Where it is too large, too slow, of another kind, or not whole.
    """
    most = MAX_FORM_BYTES + (sink.most_bytes if sink else 0)
    length = request.headers.get("content-length", "0")
    if not length.isdecimal() or len(length) > 15:
        raise Refused(400, "bad_request")
    if int(length) > most:
        raise Refused(413, "too_large", limit=most // 1_000_000 or 1)
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    try:
        if kind == b"multipart/form-data" and options.get(b"boundary"):
            return await _multipart(request, options[b"boundary"], sink, most)
        if kind == b"application/x-www-form-urlencoded":
            return await _plain(request)
    except FormParserError:
        raise Refused(400, "cut_short" if sink else "bad_request") from None
    except (ClientDisconnect, TimeoutError):
        raise Refused(408, "cut_short") from None
    raise Refused(415, "bad_request")


async def _multipart(request: Request, boundary: bytes, sink: PhotoSink | None, most: int) -> dict[str, str]:
    reader = FormReader(boundary, sink)
    size = 0
    async with asyncio.timeout(UPLOAD_S):
        pieces = request.stream().__aiter__()
        while True:
            try:
                piece = await asyncio.wait_for(pieces.__anext__(), SILENCE_S)
            except StopAsyncIteration:
                break
            size += len(piece)
            if size > most:
                raise Refused(413, "too_large", limit=most // 1_000_000)
            reader.feed(piece)
    if not reader.complete:
        raise Refused(400, "cut_short" if sink else "bad_request")
    if sink is not None:
        sink.close()
    return reader.fields


async def _plain(request: Request) -> dict[str, str]:
    body = bytearray()
    async with asyncio.timeout(SILENCE_S):
        async for piece in request.stream():
            body += piece
            if len(body) > MAX_FORM_BYTES:
                raise Refused(413, "bad_request")
    from urllib.parse import parse_qsl

    try:
        return dict(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=MAX_FIELDS))
    except ValueError:
        raise Refused(400, "bad_request") from None


def text(fields: Mapping[str, str], name: str, longest: int = 120) -> str:
    """A field's text, trimmed."""
    return fields.get(name, "")[:longest].replace("\x00", "").strip()
