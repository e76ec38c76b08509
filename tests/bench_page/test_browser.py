"""The page in a phone-sized browser: touch, keys, with and without scripting, and axe-core on each page."""

import os
import shutil
import signal
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from tests.bench_page.running import Running, blank_photo, running, small_photo

CHROMIUM = shutil.which("chromium")
if CHROMIUM is None:
    pytest.skip("Debian's chromium is not installed", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
if find_spec("axe_playwright_python") is None:
    pytest.skip("axe-core (axe-playwright-python) is not installed", allow_module_level=True)

#: On a crowded machine a photo takes long.
PATIENCE_MS = 180_000
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as engine:
        # As root, as in a container, the browser's own sandbox cannot be set up.
        chromium = engine.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


@pytest.fixture
def watched(tmp_path: Path) -> Path:
    folder = tmp_path / "camera"
    folder.mkdir()
    return folder


class Phone:
    """One page at 390 px, which notes every complaint and every address that is asked for."""

    def __init__(self, browser: Any, bench: Running, **options: Any):
        self.bench = bench
        context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, **options)
        self.page = context.new_page()
        self.complaints: list[str] = []
        self.asked: set[str] = set()
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.complaints.append(str(e)))
        self.page.on("request", lambda r: self.asked.add(r.url))

    def open(self, path: str = "/") -> None:
        self.page.goto(self.bench.address + path)

    def send(self, photo: bytes, field: str = "#camera") -> None:
        # Photographed again, the page before is of the same kind: only its address tells them apart.
        before = self.page.url
        self.page.set_input_files(field, {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo})
        self.page.wait_for_url(lambda url: "/photos/" in url and url != before)
        self.page.wait_for_selector(".picture, .todo")

    def axe(self) -> list[str]:
        """What axe-core has against the page as it is."""
        import axe_playwright_python

        script = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
        self.page.evaluate(script)
        found = self.page.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)["violations"]
        return [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in found]

    def wide(self) -> int:
        return int(self.page.evaluate("document.documentElement.scrollWidth"))


def idle_worker(bench: Running) -> int:
    """The process that will measure the next photo: one that has started, for it has just measured another."""
    client = bench.client()
    client.wait(client.send(small_photo(seed=28)).json["url"])
    until = time.monotonic() + 60
    while bench.desk.pool.busy:
        assert time.monotonic() < until
        time.sleep(0.02)
    return int(bench.desk.pool.slots[0].process.pid)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_photo_to_answer(browser: Any, bench: Running, scheme: str) -> None:
    """The main path: button, photo, waiting, answer, a tapped spoke, flat view, photograph again."""
    phone = Phone(browser, bench, color_scheme=scheme)
    phone.open()
    assert phone.axe() == []
    button = phone.page.get_by_role("button", name="Take the photo").bounding_box()
    assert button["height"] >= 64 and button["width"] > 300
    phone.send(small_photo(seed=20))
    page = phone.page
    assert page.inner_text("h1").startswith("Move")
    assert page.locator("#picture img").evaluate("image => image.naturalWidth") == 1170
    page.wait_for_selector("#flat:not([hidden])")
    assert phone.axe() == []
    assert phone.wide() == 390
    # Two rows are in sight above the buttons.
    bar = page.locator("#page .bar").bounding_box()["y"]
    assert page.locator(".moves li").first.bounding_box()["y"] + 60 < bar
    small = [
        b for b in page.locator("main a:visible, main button:visible, summary:visible").all()
        if (box := b.bounding_box()) and box["height"] < 47 and b.get_attribute("tabindex") != "-1"
        and b.evaluate("e => !e.closest('.top')")
    ]  # fmt: skip
    assert [b.inner_text() for b in small] == []
    page.locator(".moves a").first.click()
    shown = page.locator(".figures:visible")
    playwright.expect(shown).to_have_count(1)
    assert "Outer end" in shown.inner_text()
    page.click("#flat")
    page.wait_for_selector('#picture[data-view="flat"] img')
    assert phone.axe() == []
    phone.send(small_photo(seed=21), "#again-file")
    assert "Since the photo before" in page.inner_text("main")
    assert phone.axe() == []
    assert phone.complaints == []
    assert {u for u in phone.asked if not u.startswith((bench.address, "blob:"))} == set()


PINCH = """frame => {
  const box = frame.getBoundingClientRect(), y = box.top + 100;
  const send = (kind, id, x) => frame.dispatchEvent(new PointerEvent(kind,
    {pointerId: id, pointerType: "touch", clientX: box.left + x, clientY: y, bubbles: true}));
  send("pointerdown", 1, 150); send("pointerdown", 2, 200);
  send("pointermove", 1, 100); send("pointermove", 2, 250);
  send("pointerup", 1, 100); send("pointerup", 2, 250);
}"""


def test_the_picture_is_pinched_and_a_spoke_tapped(browser: Any, bench: Running) -> None:
    """Two fingers that part from 50 to 150 px make it three times as large about their middle; a tap opens a spoke."""
    phone = Phone(browser, bench)
    phone.open()
    phone.send(small_photo(seed=26))
    page = phone.page
    page.locator("#picture").evaluate(PINCH)
    scale = page.locator(".zoomed").evaluate("e => new DOMMatrix(getComputedStyle(e).transform).a")
    assert scale == pytest.approx(3.0, abs=0.05)
    shown = page.locator(".zoomed").evaluate("e => new DOMMatrix(getComputedStyle(e).transform).e")
    assert shown == pytest.approx(175 - 3 * 175, abs=3)
    page.locator("#picture").dblclick(position={"x": 100, "y": 100})
    assert page.locator(".zoomed").evaluate("e => e.style.transform") == ""
    # A spoke in the picture: near its outer end.
    line = page.locator(".taps line").nth(3)
    x, y = line.evaluate(
        "e => { const p = new DOMPoint(e.x2.baseVal.value, e.y2.baseVal.value).matrixTransform(e.getScreenCTM());"
        " return [p.x, p.y]; }"
    )
    page.touchscreen.tap(x, y)
    page.wait_for_selector("#spoke-3:target")
    assert "Past the centre mark" in page.inner_text("#spoke-3")
    assert phone.complaints == []


def test_stop_keeps_the_photo(browser: Any, bench: Running) -> None:
    """Stopped while it is measured; the photo is still there and is measured on another press."""
    phone = Phone(browser, bench)
    phone.open()
    page = phone.page
    # A worker that stands still: it would be done before the button is found, on a busy machine.
    os.kill(idle_worker(bench), signal.SIGSTOP)
    page.set_input_files("#camera", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": small_photo(seed=27)})
    page.wait_for_url("**/photos/*")
    page.get_by_role("button", name="Stop").click()
    page.wait_for_selector("h1:text('Stopped')")
    assert phone.axe() == []
    page.get_by_role("button", name="Try again").click()
    page.wait_for_selector(".picture")
    assert page.inner_text("h1").startswith("Move")


def test_corners_are_dragged_and_moved_by_keys(browser: Any, bench: Running) -> None:
    """A photo without a panel: the corners' page, its lens while dragging, arrow keys, and the check again."""
    phone = Phone(browser, bench)
    phone.open()
    phone.send(blank_photo())
    page = phone.page
    assert page.inner_text("h1") == "Not measured"
    assert phone.axe() == []
    page.get_by_role("link", name="Mark the corners by hand").click()
    # On a busy machine the handles stand on the page before their script has run.
    page.wait_for_url("**/corners", wait_until="load")
    handle = page.get_by_role("button", name="Top left corner")
    before = handle.bounding_box()
    x, y = before["x"] + before["width"] / 2, before["y"] + before["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 25, y + 12, steps=3)
    page.wait_for_selector(".lens")
    page.mouse.up()
    after = handle.bounding_box()
    assert (round(after["x"] - before["x"]), round(after["y"] - before["y"])) == (25, 12)
    page.wait_for_selector(".lens", state="hidden")
    handle.press("Shift+ArrowLeft")
    assert handle.bounding_box()["x"] < after["x"]
    assert len(page.locator("#corner-values").input_value().split()) == 4
    assert phone.axe() == []
    page.get_by_role("button", name="Measure with these corners").click()
    page.wait_for_selector(".picture, .todo")
    assert phone.complaints == []


def test_without_scripting(browser: Any, bench: Running) -> None:
    """Photo in, answer out, by plain forms and pages that refresh themselves."""
    phone = Phone(browser, bench, java_script_enabled=False)
    phone.open()
    page = phone.page
    page.set_input_files("#file", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": small_photo(seed=22)})
    page.get_by_role("button", name="Measure").click()
    page.wait_for_selector(".picture")
    assert page.inner_text("h1").startswith("Move")
    page.locator(".moves a").first.click()
    playwright.expect(page.locator(".figures:visible")).to_have_count(1)
    page.goto(page.url.split("#")[0] + "?view=flat")
    page.get_by_role("link", name="Photograph again").click()
    page.wait_for_selector("#file")


def test_no_answer_keeps_the_photo(browser: Any, bench: Running) -> None:
    """The computer is away: the photo is still shown, and trying again sends the same one."""
    phone = Phone(browser, bench)
    phone.open()
    phone.page.route("**/photos", lambda route: route.abort())
    phone.page.set_input_files("#camera", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": small_photo(seed=23)})
    phone.page.wait_for_selector("#sending-failed:visible")
    assert phone.page.inner_text("#sending-head") == "No answer"
    assert phone.page.locator("#sending-photo").evaluate("image => image.naturalWidth") == 1600
    assert phone.axe() == []
    phone.page.unroute("**/photos")
    phone.page.get_by_role("button", name="Try again").click()
    phone.page.wait_for_selector(".picture")


def test_camera_and_class_update_by_themselves(browser: Any, tmp_path: Path, watched: Path) -> None:
    """A new photo in the watched folder shows on the open page; so does a place on the overview."""
    with running(tmp_path / "bench", watch=watched) as bench:
        camera, overview = Phone(browser, bench), Phone(browser, bench)
        camera.open("/live")
        overview.open("/class")
        assert camera.axe() == []
        (watched / "new.jpg").write_bytes(small_photo(seed=24))
        camera.page.wait_for_selector(".moves")
        assert camera.page.inner_text("h1").startswith("Move")
        overview.page.wait_for_selector("text=Overhead camera")
        assert camera.axe() == [] and overview.axe() == []
        assert camera.complaints == overview.complaints == []
