"""Fill in the page: what stands where is in page.html, how it looks in page.css, what moves in page.js."""

import base64
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from aligncheck.film.frames import CAPTION
from aligncheck.film.share import shared
from aligncheck.geometry.projective import apply_homography
from aligncheck.record.gallery import Gallery
from aligncheck.record.page.charts import spoke_chart, worst_chart
from aligncheck.record.page.frame import frame_svg, outline_path
from aligncheck.record.page.icons import icon
from aligncheck.record.page.words import chart_rows, corrected_lines, worst_words
from aligncheck.record.painted import painted_lines
from aligncheck.record.worst import worst_marks
from aligncheck.result.write import as_jpeg
from aligncheck.words.phrases import ANOTHER_PHOTO
from aligncheck.words.plain import plain_lines

HERE = Path(__file__).parent
TYPE = HERE.parents[1] / "overlay" / "type"

#: Stands in the head of every page of ours.
MARKER = b'<meta name="generator" content="aligncheck">'
#: Longest side of each picture by the number of stages: a page of a few stages is looked at closely, one of hundreds
#: must still open on a phone.
EDGES_PX = ((16, 1000), (60, 720), (200, 480), (100_000, 320))
#: Longest side of the picture that stands for the film.
POSTER_PX = 480
#: Up to so many stages every pair is compared in words; beyond, neighbours and the first with the last.
EVERY_PAIR = 24
#: What lies beside the page, by its ending.
BESIDE = {".pdf": "handout for a class, PDF", ".mp4": "film, MP4", ".webp": "film that every browser plays, WebP"}
#: Width of the charts on a phone and on a desk, px.
CHARTS_PX = (350, 640)


def is_our_page(path: Path) -> bool:
    """Whether a file is a page that this program wrote."""
    try:
        with path.open("rb") as file:
            return MARKER in file.read(2048)
    except OSError:
        return False


def stage_cards(gallery: Gallery, step: Callable[[], None] = lambda: None) -> list[dict[str, Any]]:
    """Every stage as the template takes it, its picture drawn; `step` is called after each."""
    count = len(gallery.stages)
    edge = next(px for most, px in EDGES_PX if count <= most)
    cards = []
    for card in shared(lambda k: _card(gallery, k, edge), range(count)):
        cards.append(card)
        step()
    return cards


def page_html(
    gallery: Gallery, cards: Sequence[Mapping[str, Any]], film: bytes | None = None, beside: Sequence[str] = ()
) -> bytes:
    """The page of a gathered record with its `stage_cards`; `film` is an MP4 that is shown in it.

    `beside` are names of files in the same folder, which the page links to.

    Text of the painter's is escaped by the template engine; pictures are drawn anew from pixels, so nothing that a
    camera wrote into its file comes along.
    """
    count = len(cards)
    width, height = cards[0]["width"], cards[0]["height"]
    latest = max((k for k in range(count) if gallery.results[k]), default=count - 1)
    earlier = _earlier(gallery, latest)
    environment = Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    html = environment.get_template("page.html").render(
        piece=gallery.record.piece,
        cards=cards,
        earlier=earlier,
        now=latest,
        head=cards[latest],
        icon=lambda kind: _safe(icon(kind)),
        frame=_safe(frame_svg(width, height, gallery.views.size_mm)),
        data={"pairs": _pairs(gallery), "outlines": _outlines(gallery)},
        told=gallery.told(earlier, latest) or "",
        charts=_charts(gallery),
        painted=_painted(gallery),
        rows=gallery.rows(),
        corrected=corrected_lines(gallery),
        findings=_findings(gallery, latest),
        film={"src": _data_uri("video/mp4", film), **_poster(gallery)} if film else None,
        beside=[{"name": name, "address": quote(name), "what": _what(name)} for name in beside],
        css=_safe((HERE / "page.css").read_text()),
        js=_safe((HERE / "page.js").read_text()),
        fonts={w: _data_uri("font/ttf", (TYPE / f"ClearSans-{w}.ttf").read_bytes()) for w in ("Regular", "Bold")},
    )
    return html.encode()


def _earlier(gallery: Gallery, latest: int) -> int:
    """What the latest stage is compared with at first: where a piece lies on it, the last one that shows the piece."""

    def fit(k: int) -> tuple[bool, bool, int]:
        both = [bool((gallery.results[i] or {}).get("centrepiece")) for i in (k, latest)]
        return bool(gallery.results[k]), all(both), k

    return max(range(latest), key=fit, default=0)


def _card(gallery: Gallery, k: int, edge_px: int) -> dict[str, Any]:
    """One stage as the template takes it."""
    stage = gallery.stages[k]
    picture = gallery.views.picture(k, edge_px)
    jpeg = as_jpeg(picture)
    gallery.views.keep(k, jpeg)
    return {
        "number": k + 1,
        "title": stage.title,
        "kind": stage.kind,
        "headline": stage.headline,
        "second": stage.second,
        "note": stage.note,
        "date": gallery.date(k),
        "moment": stage.moment[:10],
        "measured": gallery.results[k] is not None,
        "src": _data_uri("image/jpeg", jpeg),
        "width": picture.shape[1],
        "height": picture.shape[0],
    }


def _pairs(gallery: Gallery) -> dict[str, str]:
    """What changed from one stage to another, in words, by "earlier-later" from 0."""
    count = len(gallery.stages)
    if count <= EVERY_PAIR:
        pairs = [(a, b) for b in range(count) for a in range(b)]
    else:
        pairs = [*((k, k + 1) for k in range(count - 1)), (0, count - 1)]
    told = {f"{a}-{b}": gallery.told(a, b) for a, b in pairs}
    return {key: words for key, words in told.items() if words}


def _outlines(gallery: Gallery) -> dict[str, str]:
    """Each stage's centrepiece as a path in the comparison's picture."""
    found = {}
    for k, (result, laid) in enumerate(zip(gallery.results, gallery.laid, strict=True)):
        outline = ((result or {}).get("centrepiece") or {}).get("outline_mm")
        if outline and laid:
            points = apply_homography(laid.matrix, np.array(outline, float))
            found[str(k)] = outline_path(points, gallery.views.size_mm)
    return found


def _charts(gallery: Gallery) -> Mapping[str, Any] | None:
    """Both charts at both widths, and their figures as a table; None where nothing was measured."""
    histories = gallery.histories()
    worst = worst_marks(gallery.results, histories)
    if not any(worst):
        return None
    tolerance = next(float(r["tolerance_mm"]) for r in gallery.results if r)
    words = worst_words(worst)
    title = "Move of every spoke at each stage. The figures are in the table below."
    return {
        "tolerance": f"{tolerance:g}",
        "kinds": {w.kind for w in worst if w},
        "worst": [_safe(worst_chart(worst, tolerance, w, words)) for w in CHARTS_PX],
        "spokes": [_safe(spoke_chart(histories, tolerance, w, title)) for w in CHARTS_PX] if histories else [],
        "rows": chart_rows(histories),
    }


def _painted(gallery: Gallery) -> list[dict[str, Any]]:
    """Petals and dots of each stage that shows any."""
    found = []
    for k, result in enumerate(gallery.results):
        lines = painted_lines(result) if result else []
        if lines:
            found.append({"number": k + 1, "title": gallery.stages[k].title, "head": lines[0], "lines": lines[1:]})
    return found


def _findings(gallery: Gallery, latest: int) -> list[str]:
    """What the latest measured stage says, without what stands at the top and without advice for another photo."""
    notes = {note.get("text") for note in (gallery.results[latest] or {}).get("notes", ())}
    stage = gallery.stages[latest]
    told = (stage.headline, stage.second, ANOTHER_PHOTO)
    return [w for w in plain_lines(stage.words) if w not in told and w not in notes]


def _poster(gallery: Gallery) -> dict[str, Any]:
    """What stands in the film's place until it plays: the last stage."""
    picture = gallery.views.picture(len(gallery.stages) - 1, POSTER_PX)
    size = {"width": picture.shape[1], "height": round(picture.shape[0] + CAPTION * max(picture.shape[:2]))}
    return {"poster": _data_uri("image/jpeg", as_jpeg(picture)), **size}


def _what(name: str) -> str:
    """What a file beside the page is."""
    return next((words for ending, words in BESIDE.items() if name.endswith(ending)), name)


def _data_uri(kind: str, content: bytes) -> Markup:
    return _safe(f"data:{kind};base64,{base64.b64encode(content).decode()}")


def _safe(text: str) -> Markup:
    """Text of our own making, free of the painter's words or with them escaped, that goes into the page as it is."""
    return Markup(text)  # noqa: S704
