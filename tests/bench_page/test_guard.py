"""Who may come in and what every answer carries."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from aligncheck.bench.guard import HEADERS
from tests.bench_page.running import Running, running, small_photo


@pytest.fixture(scope="module")
def lan(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A bench opened to the network (bound to all addresses, asked over loopback)."""
    with running(tmp_path_factory.mktemp("lan"), lan=True) as one:
        yield one


@pytest.mark.parametrize("path", ["/", "/class", "/photos/x", "/nothing", "/static/bench.css", "/openapi.json"])
def test_security_headers_on_every_answer(bench: Running, path: str) -> None:
    got = bench.client().get(path).headers
    for name, value in HEADERS.items():
        assert got[name] == value
    assert "unsafe" not in got["content-security-policy"]
    assert "server" not in got


def test_no_inline_script_or_style(bench: Running) -> None:
    """The policy forbids them, so a page with one would be broken."""
    import re

    for path in ("/", "/class"):
        page = bench.client().get(path).text
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", page)
        assert not re.search(r"(?:src|href|action)=\"(?!/|#)", page)


def test_token_is_needed_and_leaves_the_address(lan: Running) -> None:
    stranger = lan.client()
    assert stranger.get("/").status == 403
    assert stranger.send(b"\xff\xd8\xff").status == 403
    assert stranger.get(f"/?token={lan.settings.token[:-1]}x").status == 403
    assert stranger.get("/static/bench.css").status == 200
    phone = lan.client()
    answer = phone.get(f"/?token={lan.settings.token}")
    assert (answer.status, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=" in cookie
    assert phone.get("/").status == 200


def test_only_the_host_sees_all_places(lan: Running) -> None:
    phone, other, host = lan.client(), lan.client(), lan.client()
    phone.get(f"/?token={lan.settings.token}")
    other.get(f"/?token={lan.settings.token}")
    host.get(f"/?token={lan.settings.host_token}")
    assert phone.get("/class").status == 403
    assert phone.get("/class/events").status == 403
    url = phone.send(small_photo(800)).json["url"]
    for path in ("", "/state", "/result", "/preview.jpg", "/corners", "/keep"):
        assert other.get(url + path).status == 403
    assert other.post(f"{url}/stop", {}).status == 403
    assert phone.get(url).status == 200
    assert host.get(url).status == 200
    assert url in host.get("/class").text


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "http://elsewhere.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Sec_Fetch_Site": "same-site"}, 403),
        ({"Sec_Fetch_Site": "same-origin"}, 303),
        ({}, 303),
    ],
)
def test_cross_site_posts_are_refused(bench: Running, headers: dict[str, str], status: int) -> None:
    assert bench.client().post("/place", {"panel": "12x12in"}, **headers).status == status


def test_own_origin_is_let_in(bench: Running) -> None:
    assert bench.client().post("/place", {"panel": "12x12in"}, Origin=bench.address).status == 303


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8765", "127.0.0.1.evil.example", "", "[::1"])
def test_foreign_host_names_are_refused(bench: Running, host: str) -> None:
    """A name of somebody else's that was bent to our address (DNS rebinding)."""
    assert bench.client().get("/", Host=host).status == 400


def test_place_cookie_of_the_camera_is_nobodys(tmp_path: Path, bench: Running) -> None:
    client = bench.client()
    client.cookies["place"] = "overhead"
    client.post("/place", {"panel": "10x10in"})
    assert client.cookies["place"] != "overhead"
