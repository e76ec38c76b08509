"""What a form may hold, and what becomes of one that is broken, huge, or not a photo."""

import io
import socket
import time
import zlib

import pytest
from PIL import Image

from tests.bench_page.running import Running, multipart, running, small_photo


def photos_kept(bench: Running) -> int:
    return sum(1 for p in (bench.settings.folder / "photos").iterdir())


@pytest.mark.parametrize(
    "content",
    [b"", b"MZ this is a program", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", b"GIF89a" + bytes(600)],
)
def test_what_is_no_photo_is_refused_at_the_door(bench: Running, content: bytes) -> None:
    before = photos_kept(bench)
    answer = bench.client().send(content)
    assert answer.status in (400, 415)
    assert answer.json["text"]
    assert photos_kept(bench) == before


def test_too_large_is_refused_before_it_is_read(tmp_path_factory: pytest.TempPathFactory) -> None:
    with running(tmp_path_factory.mktemp("small"), max_upload_bytes=200_000) as bench:
        answer = bench.client().ask(
            "POST", "/photos", b"", Content_Length="900000000", Content_Type="multipart/form-data; boundary=x"
        )
        assert answer.status == 413
        # Without a stated length it is counted as it comes.
        assert bench.client().send(b"\xff\xd8\xff" + bytes(150_000)).status == 201
        body, kind = multipart({}, b"\xff\xd8\xff" + bytes(300_000))
        link = socket.create_connection(("127.0.0.1", bench.port))
        head = f"POST /photos HTTP/1.1\r\nHost: localhost\r\nContent-Type: {kind}\r\nTransfer-Encoding: chunked\r\n\r\n"
        link.sendall(head.encode() + f"{len(body):x}\r\n".encode() + body + b"\r\n0\r\n\r\n")
        assert b" 413 " in link.recv(4096).split(b"\r\n")[0]
        link.close()


@pytest.mark.parametrize("cut", [0.02, 0.5, 0.97])
def test_truncated_forms(bench: Running, cut: float) -> None:
    body, kind = multipart({"panel": "12x12in"}, small_photo(800))
    before = photos_kept(bench)
    answer = bench.client().ask("POST", "/photos", body[: int(cut * len(body))], Content_Type=kind)
    assert answer.status == 400
    assert photos_kept(bench) == before


def test_half_a_photo_in_a_whole_form(bench: Running) -> None:
    """The form is whole, the photo in it is not: either measured or refused in words, never an error of ours."""
    client = bench.client()
    photo = small_photo(800)
    url = client.send(photo[: len(photo) // 3]).json["url"]
    assert client.wait(url)["state"] in ("refused", "done")
    assert client.get(url).status == 200


def test_bomb(bench: Running) -> None:
    """A picture of 40 000 x 40 000 pixels in a few kilobytes is refused by its header."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    head = (40_000).to_bytes(4, "big") * 2 + bytes([8, 0, 0, 0, 0])
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1_000_000)))
    client = bench.client()
    url = client.send(bomb + chunk(b"IEND", b"")).json["url"]
    state = client.wait(url)
    assert state["state"] == "refused"
    assert "too many pixels" in state["second"]


def test_names_and_fields_never_become_paths(bench: Running) -> None:
    """Whatever the phone calls its file or its piece, only folders of ours are made."""
    client = bench.client()
    answer = client.send(small_photo(800, seed=9), name="..\\..\\/etc/passwd\x01.jpg", before="../../etc")
    assert answer.status == 201
    home = bench.settings.folder / "photos" / answer.json["id"]
    client.wait(answer.json["url"])
    assert {p.name for p in home.iterdir()} <= {"The photo", "job.json", *(f"{n}.jpg" for n in
            ("preview", "overlay", "flat-dark", "flat-light"))}  # fmt: skip
    for path in (
        "/photos/../x",
        "/photos/..%2f..%2fetc/state",
        "/pieces/..%2f..",
        "/static/../app.py",
        "/static/%2e%2e/app.py",
    ):
        assert client.get(path).status in (400, 404)


def test_silent_upload_does_not_block_others(bench: Running) -> None:
    """A phone that stops halfway is waited for; others are served meanwhile."""
    body, kind = multipart({}, small_photo(800))
    slow = socket.create_connection(("127.0.0.1", bench.port))
    head = f"POST /photos HTTP/1.1\r\nHost: localhost\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n\r\n"
    slow.sendall(head.encode() + body[:5000])
    start = time.monotonic()
    assert bench.client().get("/").status == 200
    assert time.monotonic() - start < 5
    slow.close()


def test_every_kind_of_photo_is_taken(bench: Running) -> None:
    for kind in ("PNG", "WEBP", "TIFF"):
        stream = io.BytesIO()
        Image.new("RGB", (900, 700), "#445566").save(stream, kind)
        client = bench.client()
        url = client.send(stream.getvalue()).json["url"]
        assert client.wait(url)["state"] == "refused"
