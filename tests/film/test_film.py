"""Light is evened, turns are seen in pictures, and films can be read back by another decoder."""

import io
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from aligncheck.film.encode import find_encoder, mp4, webp
from aligncheck.film.frames import frames, plan
from aligncheck.film.light import even_light, see_light
from aligncheck.film.turned import likely_quarters
from aligncheck.film.views import Source, Views, gather
from aligncheck.result.write import as_jpeg
from tests.record.pieces import hand_drawn, result_of

SIDE = 400


def _drawing() -> np.ndarray:
    """A panel with a drawing that is not the same after a quarter turn."""
    picture = np.full((SIDE, SIDE, 3), (60, 70, 120), np.uint8)
    cv2.circle(picture, (SIDE // 2, SIDE // 2), 130, (230, 230, 220), 5)
    cv2.rectangle(picture, (60, 80), (120, 200), (200, 40, 40), -1)
    return picture


def _lit(picture: np.ndarray, slope: float) -> np.ndarray:
    """The same under light that falls off from left to right, in linear light."""
    linear = (picture / 255.0) ** 2.2
    fall = np.exp(-slope * np.linspace(0, 1, SIDE))[None, :, None]
    return np.round(255 * (linear * fall) ** (1 / 2.2)).astype(np.uint8)


@pytest.fixture
def views(tmp_path: Path) -> Views:
    sources = []
    for k, slope in enumerate((0.0, 0.8, 0.4)):
        path = tmp_path / f"{k}.jpg"
        path.write_bytes(as_jpeg(_lit(_drawing(), slope)))
        sources.append(Source(path, result_of(hand_drawn())))
    return gather(sources)


def test_light_that_falls_off_is_evened() -> None:
    lit = _lit(_drawing(), 0.9)
    light = see_light(lit)
    even = even_light(lit, light, light.level)
    left, right = even[300:380, 20:60].mean(), even[300:380, 340:380].mean()
    assert lit[300:380, 20:60].mean() - lit[300:380, 340:380].mean() > 20
    assert abs(left - right) < 3


def test_stages_under_different_light_look_alike(views: Views) -> None:
    ground = [views.picture(k, 200)[10:40, 150:190].mean() for k in range(3)]
    assert max(ground) - min(ground) < 4


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_a_turned_picture_is_recognised(quarters: int) -> None:
    turned = np.ascontiguousarray(np.rot90(_lit(_drawing(), 0.5), quarters))
    assert likely_quarters(turned, _drawing()) == quarters


def test_the_plan_holds_every_stage_and_ends_in_time() -> None:
    assert [s.index for s in plan(3) if s.share == 1] == [0, 1, 2]
    assert sum(s.seconds for s in plan(500)) <= 61
    assert len(plan(500)) == 500


def test_the_animated_webp_is_read_back(views: Views) -> None:
    seconds = [s.seconds for s in plan(3)]
    data = webp(frames(views, ["one", "two", "three"], 200), seconds)
    with Image.open(io.BytesIO(data)) as film:
        assert film.n_frames == len(seconds)
        assert film.info.get("loop") == 0
        assert not film.getexif()
    done, animation = cv2.imdecodeanimation(np.frombuffer(data, np.uint8))
    assert done
    assert sum(animation.durations) == pytest.approx(1000 * sum(seconds), rel=0.02)
    shown = cv2.cvtColor(np.asarray(animation.frames[-1])[..., :3], cv2.COLOR_BGR2RGB)
    drawn = views.picture(2, 200)
    assert np.abs(shown[: drawn.shape[0]].astype(int) - drawn).mean() < 8


@pytest.mark.skipif(find_encoder() is None, reason="no H.264 encoder here: install ffmpeg or imageio-ffmpeg")
def test_the_mp4_is_read_back(views: Views, tmp_path: Path) -> None:
    data = mp4(frames(views, ["one", "two", "three"], 200))
    assert data is not None
    path = tmp_path / "film.mp4"
    path.write_bytes(data)
    film = cv2.VideoCapture(str(path))
    assert film.get(cv2.CAP_PROP_FRAME_COUNT) == pytest.approx(24 * sum(s.seconds for s in plan(3)), rel=0.05)
    read, first = film.read()
    film.release()
    assert read
    drawn = views.picture(0, 200)
    assert np.abs(first[: drawn.shape[0], :, ::-1].astype(int) - drawn).mean() < 10


def test_without_an_encoder_there_is_no_mp4(views: Views, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("aligncheck.film.encode.find_encoder", lambda: None)
    assert mp4(frames(views, ["a", "b", "c"], 100)) is None


def test_a_caption_of_any_length_fits() -> None:
    """As many letters as there is room for: one more would be too wide; measured a dozen times, not once a letter."""
    from aligncheck.film.frames import _fitting

    asked = []

    def fits(text: str) -> bool:
        asked.append(text)
        return len(text) <= 20

    assert _fitting("Marked", fits) == "Marked"
    assert _fitting("x" * 5000, fits) == "x" * 19 + "…"
    assert _fitting("a bb " * 1000, fits) == "a bb a bb a bb a bb…"
    assert len(asked) < 40
