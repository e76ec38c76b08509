"""The film's frames: each stage held, then faded into the next, with its caption below."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from aligncheck.film.views import Views
from aligncheck.fitting import letters_that_fit

Bytes = NDArray[np.uint8]

FONT = Path(__file__).parents[1] / "overlay" / "type" / "ClearSans-Bold.ttf"
GROUND, LETTERS = (21, 19, 15), (251, 247, 236)
#: A caption is read in about a second and a half; a fade shows what moved, a cut does not.
HOLD_S, FADE_S = 1.6, 0.5
#: A film of many stages runs faster, so that nobody waits longer than this, s.
LONGEST_S = 60.0
#: Height of the strip with the caption, as a share of the picture's longest side.
CAPTION = 0.075
#: Steps of a fade.
FADE_STEPS = 6


@dataclass(frozen=True)
class Shot:
    """One frame of the plan: stage `index`, mixed with the one before by `share` (1: itself alone), seen `seconds`."""

    index: int
    share: float
    seconds: float


def plan(count: int) -> list[Shot]:
    """Which frames a film of `count` stages has, and for how long each is seen."""
    pace = min(1.0, LONGEST_S / max(count * (HOLD_S + FADE_S), 1e-9))
    # When stages rush past, fades would only blur them.
    steps = FADE_STEPS if pace > 0.5 else 0
    shots = []
    for index in range(count):
        if index:
            shots += [Shot(index, (k + 1) / (steps + 1), FADE_S * pace / steps) for k in range(steps)]
        shots.append(Shot(index, 1.0, (HOLD_S + (0 if steps else FADE_S)) * pace))
    return shots


def frames(views: Views, captions: Sequence[str], edge_px: int) -> Iterator[tuple[Bytes, float]]:
    """Every frame of the plan (h, w, 3) with its seconds; two stages are in memory at a time, never all."""
    before = now = np.zeros((1, 1, 3), np.uint8)
    shown = -1
    for shot in plan(len(views.views)):
        if shot.index != shown:
            before, now = now, _captioned(views.picture(shot.index, edge_px), captions[shot.index])
            shown = shot.index
        yield (now if shot.share == 1 else _mixed(before, now, shot.share)), shot.seconds


def _mixed(one: Bytes, other: Bytes, share: float) -> Bytes:
    return np.asarray(cv2.addWeighted(one, 1 - share, other, share, 0), np.uint8)


def _captioned(rgb: Bytes, caption: str) -> Bytes:
    """The picture with a strip of letters below; sides even, as H.264 wants them."""
    height, width = rgb.shape[:2]
    strip = max(20, round(CAPTION * max(width, height)))
    canvas = Image.new("RGB", (width + width % 2, height + strip + (height + strip) % 2), GROUND)
    canvas.paste(Image.fromarray(rgb), (0, 0))
    font = ImageFont.truetype(str(FONT), round(0.55 * strip))
    draw = ImageDraw.Draw(canvas)
    words = _fitting(caption, lambda text: draw.textlength(text, font=font) <= 0.96 * width)
    draw.text((round(0.02 * width), height + strip // 2), words, fill=LETTERS, font=font, anchor="lm")
    return np.asarray(canvas, np.uint8)


def _fitting(words: str, fits: Callable[[str], bool]) -> str:
    """The words, or as many of their letters as fit with dots behind them."""
    if fits(words):
        return words
    keep = letters_that_fit(words, lambda start: fits(start.rstrip() + "…"))
    return words[:keep].rstrip() + "…"
