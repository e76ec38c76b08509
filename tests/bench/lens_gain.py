"""What a lens profile gains over the panel's own sides, and how long a lens fit takes.

    .venv/bin/python -m tests.bench.lens_gain [PHOTOS]

Renders marked panels by one phone with a bent lens, measures each with the phone's true lens as its profile and
without one, and prints the scatter of relative directions, of outer ends and of corners. Then times `lens fit` on
twelve board photos of 12 megapixels, reading included.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from aligncheck.drift import measure_drift
from aligncheck.errors import AligncheckError
from aligncheck.geometry.angles import bearing, wrap
from aligncheck.lens import Lens
from aligncheck.lens.fit import fit_lens
from aligncheck.marks.find import find_marks
from aligncheck.panel import find_panel
from aligncheck.photo import Photo, read_photo
from tests.lens import boards
from tests.render import by_hand, ordinary_scene, photograph
from tests.truth import read_truth, true_panel

#: A lens that bends more than phones' own corrections leave: 25 px at the corner of these pictures.
BEND = {"k1": 0.05, "k2": -0.02, "principal_px": (9.0, -6.0)}
SIZE_PX = (2400, 1800)


def errors(photo: Photo, truth: dict, lens: Lens | None) -> tuple[np.ndarray, float, float] | None:
    """Relative direction errors in degrees, rms of the corners in mm, median claimed u95 of a direction."""
    try:
        panel = find_panel(photo, truth["panel"]["width_mm"], truth["panel"]["height_mm"], lens=lens)
        drift = measure_drift(find_marks(photo, panel))
    except AligncheckError:
        return None
    off = []
    for spoke in truth["spokes"]:
        end = np.array(spoke.get("extension_outer_mm", spoke["outer_mm"]))
        angle = float(bearing(end - np.array(spoke["inner_mm"])))
        mine = min(drift.spokes, key=lambda s: abs(float(wrap(s.angle_deg - angle))))
        off.append(float(wrap(mine.angle_deg - angle)))
    corners = np.linalg.norm(panel.to_panel(np.array(truth["corners_px"])) - np.array(truth["corners_mm"]), axis=1)
    u95 = float(np.median([s.angle_u95_deg for s in drift.spokes]))
    return np.array(off) - np.median(off), float(np.sqrt((corners**2).mean())), u95


def gain(number: int) -> None:
    """Print one line with and one without a profile."""
    found: dict[str, list[tuple[np.ndarray, float, float]]] = {"sides": [], "profile": []}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(number):
            scene = ordinary_scene(seed + 40, SIZE_PX)
            how = {"fill": 0.85, "tilt_deg": 4 + 20 * seed / max(number, 1), "azimuth_deg": 47.0 * seed}
            scene = scene.seen(SIZE_PX, **how, **BEND)
            path = photograph(by_hand(seed), scene, seed).save(Path(folder) / f"{seed}.jpg")
            truth, photo = read_truth(path), read_photo(path)
            both = {"sides": errors(photo, truth, None), "profile": errors(photo, truth, true_panel(truth).lens)}
            if None not in both.values():
                for name, one in both.items():
                    found[name].append(one)  # type: ignore[arg-type]
    print(f"{len(found['sides'])} of {number} photos measured both ways")
    for name, all_of in found.items():
        relative = np.sqrt(np.mean(np.concatenate([e[0] for e in all_of]) ** 2))
        corners = np.sqrt(np.mean([e[1] ** 2 for e in all_of]))
        claimed = np.median([e[2] for e in all_of])
        print(
            f"  {name:8s} relative direction {relative:.4f} deg, corners {corners:.3f} mm, claimed ± {claimed:.3f} deg"
        )


def fit_time(number: int = 12) -> None:
    """Print how long the fit of `number` photos of 12 megapixels takes."""
    boards.SIZE_PX = (4032, 3024)
    sheet = boards.own_sheet()
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for k in range(number):
            view = boards.camera(sheet, **boards.STANDS[k % len(boards.STANDS)])
            paths.append(boards.save(boards.photo(sheet, view, seed=k), Path(folder) / f"{k}.jpg"))
        start, processor = time.perf_counter(), time.process_time()
        fit = fit_lens(paths)
        wall, spent = time.perf_counter() - start, time.process_time() - processor
    print(f"lens fit: {len(fit.used)} of {number} photos in {wall:.1f} s ({spent:.1f} s of processor time)")


if __name__ == "__main__":
    gain(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
    fit_time()
