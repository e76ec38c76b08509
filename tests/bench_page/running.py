"""A bench that really runs, on loopback, with workers of its own; and a client as plain as a phone's first request."""

import http.client
import io
import json
import secrets
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from PIL import Image

from aligncheck.bench.desk import Desk
from aligncheck.bench.server import make_server, open_socket
from aligncheck.bench.settings import Settings

SAMPLE = Path(__file__).parent.parent.parent / "samples/night-daisy-1-marked.jpg"


@dataclass
class Running:
    """A running bench."""

    settings: Settings
    port: int
    server: uvicorn.Server
    desk: Desk

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def client(self, **headers: str) -> "Client":
        return Client(self.port, dict(headers))


@contextmanager
def running(folder: Path, **chosen: Any) -> Iterator[Running]:
    """Serve in a thread of this process until the context closes."""
    settings = Settings(**{"folder": folder, "port": 0, "panel": "12x12in", "workers": 1} | chosen)
    listener = open_socket(settings)
    server = make_server(settings)
    desk = server.config.app.state.desk  # type: ignore[union-attr]
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        while not server.started:
            assert thread.is_alive()
            time.sleep(0.02)
        yield Running(settings, listener.getsockname()[1], server, desk)
    finally:
        server.should_exit = True
        thread.join(20)
        listener.close()


@dataclass
class Answer:
    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def json(self) -> Any:
        return json.loads(self.body)


@dataclass
class Client:
    """Keeps its cookies; follows nothing by itself."""

    port: int
    headers: dict[str, str] = field(default_factory=dict)
    cookies: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Answer:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        sent = {**self.headers, **{k.replace("_", "-"): v for k, v in headers.items()}}
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        try:
            link.request(method, path, body, sent)
            got = link.getresponse()
            for value in got.headers.get_all("set-cookie") or []:
                name, _, rest = value.partition("=")
                self.cookies[name] = rest.split(";")[0]
            return Answer(got.status, {k.lower(): v for k, v in got.headers.items()}, got.read())
        finally:
            link.close()

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, **headers)

    def post(self, path: str, fields: Mapping[str, str], **headers: str) -> Answer:
        body, kind = multipart(fields)
        return self.ask("POST", path, body, **{"Content_Type": kind, **headers})

    def send(self, photo: bytes, name: str = "photo.jpg", **fields: str) -> Answer:
        """Send a photo as the page's script does."""
        body, kind = multipart(fields, photo, name)
        return self.ask("POST", "/photos", body, Content_Type=kind, Accept="application/json")

    def wait(self, url: str, seconds: float = 180.0, pause_s: float = 0.1) -> dict[str, Any]:
        """The state of a photo when it is not open any more."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            state = self.get(f"{url}/state").json
            if state["state"] not in ("waiting", "measuring"):
                return state
            time.sleep(pause_s)
        raise AssertionError(f"no answer after {seconds} s")


def multipart(fields: Mapping[str, str], photo: bytes | None = None, name: str = "photo.jpg") -> tuple[bytes, str]:
    """A form's body and its content type."""
    mark = secrets.token_hex(12)
    parts = [
        f'--{mark}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode()
        for key, value in fields.items()
    ]
    if photo is not None:
        head = f'--{mark}\r\nContent-Disposition: form-data; name="photo"; filename="{name}"\r\n'
        parts.append(head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + photo + b"\r\n")
    return b"".join(parts) + f"--{mark}--\r\n".encode(), f"multipart/form-data; boundary={mark}"


def small_photo(width: int = 1600, gps: bool = False, seed: int = 0) -> bytes:
    """The sample photo made smaller (quick to measure), with a place in its EXIF if asked; each seed's bytes differ."""
    image = Image.open(SAMPLE)
    exif = image.getexif()
    image = image.resize((width, round(width * image.height / image.width)), Image.Resampling.LANCZOS)
    if gps:
        exif[0x8825] = {1: "N", 2: (48.0, 8.0, 7.77), 3: "E", 4: (11.0, 34.0, 31.31)}
        exif[0x010F] = "Secretphone"
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=90, exif=exif.tobytes(), comment=f"photo {seed}".encode())
    return stream.getvalue()


def blank_photo() -> bytes:
    """A photo of nothing: a table without a panel."""
    stream = io.BytesIO()
    noise = Image.effect_noise((1200, 900), 40).convert("RGB")
    noise.save(stream, "JPEG", quality=85)
    return stream.getvalue()
