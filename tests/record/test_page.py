"""The page is whole in itself, private, escaped, valid and usable; handout and film go with it."""

import base64
import io
import json
import os
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import numpy as np
import pytest
from PIL import Image

from aligncheck.record import new_record, open_record
from aligncheck.record.export import export_record
from aligncheck.record.store import store
from tests.record.pieces import hand_drawn, jpeg, result_of, shown

ROOT = Path(__file__).parents[2]
#: Where `npm install --prefix` put the checkers; .ci/run says how.
NODE = Path(os.environ.get("ALIGNCHECK_NODE", ROOT / ".ci" / "node")) / "node_modules"
NU = NODE / "vnu-jar" / "build" / "dist" / "vnu.jar"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
EVIL = '"><script>alert(1)</script>&amp;\u202e🌼'
SERIAL = "SN-4711-SECRET"


def _photo_with_secrets() -> bytes:
    """A photo whose EXIF holds a place and a serial number."""
    picture = Image.open(io.BytesIO(jpeg(1)))
    exif = picture.getexif()
    exif[0x010F] = "Maker"
    exif.get_ifd(0x8769)[0xA431] = SERIAL
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (52.0, 31.0, 12.0), "E", (13.0, 24.0, 36.0)
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif)
    return buffer.getvalue()


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A piece of four stages, one of them not measured, one spoke mended, all text hostile."""
    place = tmp_path_factory.mktemp("page")
    folder = place / "piece"
    new_record(folder, "12x12in", name=f"Night {EVIL} Daisy", about=EVIL)
    path = folder / "piece.toml"
    path.write_text(
        path.read_text("utf-8").replace("colours = [\n", f"colours = [\n  {json.dumps(EVIL, ensure_ascii=False)},\n")
    )
    spokes = hand_drawn()
    spokes[3][1] = spokes[3][1] + np.array([0.0, 3.0])
    mended = hand_drawn()
    store(
        folder, shown(1, result_of(spokes), "2026-05-11T09:40:00", photo=_photo_with_secrets()), title=EVIL, note=EVIL
    )
    files = {".view.jpg": jpeg(9, 200)}
    bad = {"measured": False, "kind": "refused", "headline": "Not measured", "second": f"No panel {EVIL}."}
    store(folder, shown(2, taken="2026-05-12T09:40:00", files=files, title="Not measured", **bad))
    store(folder, shown(3, result_of(mended, np.full((4, 2), 0.2), 1, 0.02), "2026-05-13T09:40:00"))
    store(folder, shown(4, result_of(mended, noise_mm=0.02), "2026-05-17T09:40:00"))
    written = export_record(folder, place / "out", film_edge_px=160)
    return {p.suffix: p for p in written}


def _html(exported: dict[str, Path]) -> str:
    return exported[".html"].read_text("utf-8")


def test_all_kinds_of_files_are_written_under_a_plain_name(exported: dict[str, Path]) -> None:
    assert {".html", ".pdf", ".webp"} <= set(exported)
    assert all(re.fullmatch(r"[\w.-]+", p.name) for p in exported.values())


def test_the_painters_words_are_escaped_everywhere(exported: dict[str, Path]) -> None:
    class Scripts(HTMLParser):
        count, texts = 0, ""

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.count += tag == "script"

        def handle_data(self, data: str) -> None:
            self.texts += data

    seen = Scripts()
    seen.feed(_html(exported))
    assert seen.count == 2, "the page's own two"
    assert "<script>alert" not in _html(exported)
    assert seen.texts.count('"><script>alert(1)</script>&amp;') >= 4


def test_nothing_is_asked_from_elsewhere(exported: dict[str, Path]) -> None:
    html = re.sub(r"data:[\w/]+;base64,[\w+/=]+", "data:", _html(exported))
    # It links to what lies beside it, and opens that only when asked to.
    beside = re.findall(r'<a href="([^"]*)">', html)
    assert {unquote(name) for name in beside} == {p.name for p in exported.values() if p.suffix != ".html"}
    html = re.sub(r'<a href="[^"]*">', "", html)
    assert not re.findall(r"(?:src|href|url)\s*[=(]\s*[\"']?\s*(?!data:|#)[\w/]+", html)
    assert "http" not in html.replace("http-equiv", "")
    assert "default-src 'none'" in html


def test_pictures_carry_no_place_and_no_serial_number(exported: dict[str, Path], tmp_path: Path) -> None:
    pictures = re.findall(r"data:image/jpeg;base64,([\w+/=]+)", _html(exported))
    assert len(pictures) >= 4
    for k, text in enumerate(pictures):
        content = base64.b64decode(text)
        (tmp_path / f"{k}.jpg").write_bytes(content)
        assert not Image.open(io.BytesIO(content)).getexif()
    for path in exported.values():
        assert SERIAL.encode() not in path.read_bytes()
    original = open_record(exported[".html"].parents[1] / "piece")
    stage = original.stages[0]
    assert SERIAL.encode() in original.path(stage, stage.photo).read_bytes(), "the original is not touched"
    reader = shutil.which("exiftool")
    if reader:
        files = [*map(str, tmp_path.iterdir()), *(str(exported[k]) for k in (".webp", ".mp4", ".pdf") if k in exported)]
        told = subprocess.run([reader, "-G1", *files], capture_output=True, check=True).stdout.decode(errors="replace")
        assert "GPS" not in told
        assert "[ExifIFD]" not in told
        assert "Serial" not in told


def test_the_page_tells_what_was_corrected_and_when(exported: dict[str, Path]) -> None:
    html = _html(exported)
    assert re.search(r"Spoke at 3 o.{1,6}clock: from \d\.\d mm to \d\.\d mm off", html)
    assert "Since Monday: 1 spoke moved, worst drift from" in html
    assert "Since Wednesday: no spoke moved" in html
    assert "Not measured" in html


def test_the_handout_has_one_to_three_pages_and_the_words(exported: dict[str, Path]) -> None:
    pypdfium2 = pytest.importorskip("pypdfium2")
    document = pypdfium2.PdfDocument(exported[".pdf"])
    pages = [page.get_textpage().get_text_bounded() for page in document]
    assert 1 <= len(pages) <= 3
    assert "304.8 mm" in pages[0]
    assert "12 spokes, 30 degrees from one to the next" in pages[0]
    assert "Rings at 12.7, 38.1, 63.5, 88.9 mm" in " ".join(pages[0].split())
    assert "step by step" in pages[1]
    picture = document[0].render(scale=1).to_numpy()
    assert picture.std() > 5, "the page is not blank"
    document.close()


@pytest.mark.skipif(not (shutil.which("pdfinfo") and shutil.which("pdftotext")), reason="poppler is not installed")
def test_another_program_reads_the_handout(exported: dict[str, Path]) -> None:
    info = subprocess.run(["pdfinfo", str(exported[".pdf"])], capture_output=True, text=True, check=True)
    assert info.stderr == ""
    assert "A4" in info.stdout and re.search(r"Pages: +[123]\n", info.stdout)
    assert "Secret" not in info.stdout and SERIAL not in info.stdout
    text = subprocess.run(["pdftotext", str(exported[".pdf"]), "-"], capture_output=True, text=True, check=True)
    assert text.stderr == ""
    assert "304.8 mm" in text.stdout and "step by step" in text.stdout


def test_many_stages_stay_within_three_pages(tmp_path: Path) -> None:
    from aligncheck.record.gallery import gather_record
    from aligncheck.record.handout import handout_pdf

    pypdfium2 = pytest.importorskip("pypdfium2")
    new_record(tmp_path / "p", "12x12in", name="long " * 60, about="word " * 400)
    for k in range(30):
        store(tmp_path / "p", shown(k, taken=f"2026-05-{k + 1:02d}T10:00:00"), title="t" * 200, note="n " * 200)
    document = pypdfium2.PdfDocument(handout_pdf(gather_record(open_record(tmp_path / "p"))))
    assert len(document) == 3
    document.close()


@pytest.mark.skipif(not (NODE / "html-validate").is_dir(), reason="needs html-validate: see .ci/run")
def test_the_page_is_valid_html(exported: dict[str, Path]) -> None:
    validator = str(NODE / "html-validate" / "bin" / "html-validate.mjs")
    # A name of markup signs is long once they are written out; that is a matter of taste, not of validity.
    command = ["node", validator, "--rule", "long-title:off", str(exported[".html"])]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-2000:]


@pytest.mark.skipif(not (NU.is_file() and shutil.which("java")), reason="needs vnu-jar and java: see .ci/run")
def test_the_standards_own_checker_finds_no_error(exported: dict[str, Path]) -> None:
    command = ["java", "-jar", str(NU), "--errors-only", "--exit-zero-always", str(exported[".html"])]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=True)
    assert done.stdout + done.stderr == ""


@pytest.mark.skipif(
    not (CHROMIUM and (NODE / "playwright-core").is_dir() and (NODE / "axe-core").is_dir()),
    reason="needs chromium, playwright-core and axe-core: see .ci/run",
)
def test_the_page_works_in_a_browser_and_axe_finds_nothing(exported: dict[str, Path]) -> None:
    script = Path(__file__).parent / "browser" / "look.js"
    environment = {**os.environ, "NODE_PATH": str(NODE)}
    command = ["node", str(script), str(CHROMIUM), str(exported[".html"])]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, timeout=180)
    assert done.returncode == 0, done.stderr
    for seen in json.loads(done.stdout):
        assert seen["violations"] == [], seen
        assert seen["passes"] > 10
        assert (seen["requests"], seen["errors"], seen["tooWide"]) == ([], [], False), seen
        # Another stage was picked and the slider moved, by the keyboard alone.
        assert seen["heading"] != seen["headingAfter"]
        assert float(seen["split"]) == pytest.approx(1000, abs=1)


@pytest.mark.parametrize("measured", [True, False])
def test_a_record_of_one_stage_measured_or_not_is_shown(tmp_path: Path, measured: bool) -> None:
    new_record(tmp_path / "p", "12x12in")
    bad = {"measured": False, "kind": "refused", "headline": "Not measured", "second": "No panel found.", "words": ()}
    store(tmp_path / "p", shown(1) if measured else shown(1, files={".view.jpg": jpeg(9, 200)}, **bad))
    html = next(p for p in export_record(tmp_path / "p", tmp_path / "out", 0) if p.suffix == ".html").read_text("utf-8")
    assert html.count('class="card"') == 1
    assert ("Everything fits" if measured else "No panel found.") in html
    # Nothing to compare it with.
    assert 'id="frame"' not in html
    assert 'id="told"' not in html
