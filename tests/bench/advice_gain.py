"""Is photo advice given where it should be, and does the better photo bring what was promised?

    .venv/bin/python -m tests.bench.advice_gain [PHOTOS] [--size 2400x1800]

Photographs the same panel badly in one way (small, tilted, dark, out of focus, moved, under glare, bowed) and well,
checks both, and prints for each way how often the advice was given, how often its sign was seen at all (advice that
would bring little is not given), and the 95 % half-width of a move: now, as promised, and as it then was.
"""

import argparse
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.advice.budget import budget_of, typical_u95_mm
from aligncheck.advice.flat import bowed_side
from aligncheck.advice.frame import fill_frame, look_from_above
from aligncheck.advice.gain import Gain
from aligncheck.advice.glare import less_glare
from aligncheck.advice.sharp import more_light, sharpen
from aligncheck.checking import Check, check
from aligncheck.errors import AligncheckError
from tests.render import Light, Scene, by_hand, ordinary_scene, photograph
from tests.render.rendered import Rendered

Size = tuple[int, int]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Way:
    """One way to take a bad photo, and the codes of the advice that it should bring."""

    codes: tuple[str, ...]
    spoil: Callable[[Scene, Size, np.random.Generator], Scene] = lambda scene, _size, _rng: scene
    smear: Callable[[Pixels, Size, np.random.Generator], Pixels] | None = None


def good_scene(seed: int, size: Size) -> Scene:
    """A bench photographed with care: from above, the panel filling the picture, in good light, sharp."""
    scene = ordinary_scene(seed, size)
    finish = replace(scene.finish, exposure=0.9, blur_px=0.6)
    lit = replace(scene, finish=finish, light=replace(scene.light, glare=0.0))
    return lit.seen(size, tilt_deg=4.0, azimuth_deg=50.0 * seed, fill=0.92)


def _small(scene: Scene, size: Size, rng: np.random.Generator) -> Scene:
    return scene.seen(size, tilt_deg=4.0, fill=float(rng.uniform(0.3, 0.45)))


def _tilted(scene: Scene, size: Size, rng: np.random.Generator) -> Scene:
    return scene.seen(size, tilt_deg=float(rng.uniform(34, 42)), azimuth_deg=float(rng.uniform(0, 360)), fill=0.85)


def _dark(scene: Scene, _size: Size, rng: np.random.Generator) -> Scene:
    return replace(scene, finish=replace(scene.finish, exposure=float(rng.uniform(0.05, 0.09)), noise=0.02))


def _soft(scene: Scene, size: Size, rng: np.random.Generator) -> Scene:
    return replace(scene, finish=replace(scene.finish, blur_px=float(rng.uniform(3.6, 5.0)) * max(size) / 4032))


def _glare(scene: Scene, _size: Size, rng: np.random.Generator) -> Scene:
    a = rng.uniform(0, 2 * np.pi)
    light = Light(scene.light.at_mm, 0.4, 1.2, (75 * float(np.sin(a)), -75 * float(np.cos(a))), 35.0)
    return replace(scene, light=light)


def _bowed(scene: Scene, _size: Size, rng: np.random.Generator) -> Scene:
    bows = [0.0] * 4
    bows[int(rng.integers(4))] = float(rng.choice([-1, 1]) * rng.uniform(1.2, 2.0))
    return replace(scene, panel=replace(scene.panel, side_bow_mm=(bows[0], bows[1], bows[2], bows[3])))


def _moved(pixels: Pixels, size: Size, rng: np.random.Generator) -> Pixels:
    """The phone slid by some pixels while the shutter was open, in linear light."""
    length = round(float(rng.uniform(14, 20)) * max(size) / 4032)
    kernel = (1, length) if rng.random() < 0.5 else (length, 1)
    light = cv2.blur((pixels / np.float32(255)) ** np.float32(2.2), kernel)
    return np.asarray(np.rint(255 * light ** np.float32(1 / 2.2)), np.uint8)


WAYS: dict[str, Way] = {
    "small": Way(("advice_fill_frame",), _small),
    "tilted": Way(("advice_tilted",), _tilted),
    "dark": Way(("advice_dark",), _dark),
    "out of focus": Way(("advice_focus",), _soft),
    "moved": Way(("advice_moved", "advice_focus"), smear=_moved),
    "glare": Way(("advice_glare",), _glare),
    "bowed": Way(("advice_bowed",), _bowed),
}


def gains(done: Check) -> dict[str, Gain]:
    """Every advice with what it promises, whether or not it is worth saying."""
    photo, drift, marks = done.photo, done.drift, done.marks
    budget = budget_of(drift)
    if budget is None:
        return {}
    found = [
        less_glare(photo, drift),
        fill_frame(photo, marks, budget),
        look_from_above(marks, budget),
        sharpen(photo, marks.panel, budget),
        more_light(photo, budget),
    ]
    return {g.code: g for g in found if g is not None}


def checked(picture: Rendered, folder: Path) -> Check | None:
    """The check of a rendered photo, None where it is refused."""
    path = picture.save(folder / "panel.jpg")
    size = picture.truth["panel"]["width_mm"], picture.truth["panel"]["height_mm"]
    try:
        return check(path, size)
    except AligncheckError:
        return None


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("photos", nargs="?", type=int, default=8, help="of each way")
    asked.add_argument("--size", default="2400x1800")
    given = asked.parse_args()
    width, height = map(int, given.size.split("x"))
    size = width, height
    good_codes: list[str] = []
    print(f"{'way':13} {'photos':>6} {'refused':>7} {'told':>5} {'seen':>5} {'now':>6} {'promised':>8} {'then':>6} mm")
    with tempfile.TemporaryDirectory() as name:
        goods = []
        for seed in range(given.photos):
            drawing, scene = by_hand(seed + 500, ghosts=0), good_scene(seed + 500, size)
            good = checked(photograph(drawing, scene, seed), Path(name))
            goods.append((drawing, scene, good))
            good_codes += [n.code for n in good.notes if n.code.startswith("advice_")] if good else []
        for way_name, way in WAYS.items():
            told = seen = refused = 0
            figures: list[tuple[float, float, float]] = []
            for seed, (drawing, scene, good) in enumerate(goods):
                rng = np.random.default_rng([seed, sum(map(ord, way_name))])
                picture = photograph(drawing, way.spoil(scene, size, rng), seed)
                if way.smear:
                    picture = replace(picture, pixels=way.smear(picture.pixels, size, rng))
                done = checked(picture, Path(name))
                if done is None or good is None:
                    refused += 1
                    continue
                told += any(n.code in way.codes for n in done.notes)
                promised = [g for code, g in gains(done).items() if code in way.codes]
                seen += bool(promised) or bowed_side(done.photo, done.panel) is not None
                if promised:
                    then = typical_u95_mm(good.drift) or 0.0
                    figures.append((promised[0].now_mm, promised[0].then_mm, then))
            now, promise, then = np.median(np.array(figures), axis=0) if figures else (np.nan,) * 3
            print(
                f"{way_name:13} {len(goods):6d} {refused:7d} {told:5d} {seen:5d} {now:6.3f} {promise:8.3f} {then:6.3f}"
            )
    print(f"advice on {len(goods)} good photos: {', '.join(good_codes) or 'none'}")


if __name__ == "__main__":
    main()
