"""What rings drawn on the panel could add to the bend of the lens that the panel's sides give.

    .venv/bin/python -m tests.bench.circles_gain [PHOTOS]

Rings are as round as the hand that drew them. Each ring's waves of order 2 to 4 are what is left of it when its own
radius and centre are free; a wrong map puts waves into all rings at once. This takes the map's covariance as the sides
leave it, adds the rings' waves (each ring as round as the photo's rings are found to be, and an ellipse common to all
of them, as a template or a pin that slips gives) and prints how unsure the bend at the panel's corners is before and
after, and how wrong it is. The rings rendered here are exactly round: no hand could draw better ones.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import AligncheckError
from aligncheck.geometry.angles import outward
from aligncheck.marks import ring_fit
from aligncheck.marks.detect import detect
from aligncheck.marks.rings import fit_candidates
from aligncheck.marks.spokes import measure_spokes
from aligncheck.panel import Panel, find_panel
from aligncheck.photo import read_photo
from tests.render import by_hand, ordinary_scene, photograph
from tests.truth import read_truth

Floats = NDArray[np.float64]

SIZE_PX = (2400, 1800)
#: Terms of the waves of order 2 to 4 among a ring's thirteen.
WAVES = slice(3, 9)
#: Rings known to be round but for so much of a common ellipse (half the axes' difference over the radius): turned about
#: a pin on a board, traced from a template, or by a hand about which nothing is known.
ELLIPSES = {"pin": 1e-4, "template": 1e-3, "hand": 4e-3}


def bend_px(panel: Panel, covariance: Floats) -> float:
    """Standard deviation of the bend at the panel's corners, px."""
    terms = _corner_terms(panel)
    return float(np.sqrt(terms @ covariance[8:, 8:] @ terms))


def _corner_terms(panel: Panel) -> Floats:
    lens = panel.lens
    r = np.linalg.norm(panel.corners_px - (lens.cx_px, lens.cy_px), axis=1).mean() / lens.focal_px
    return np.array([r**3, r**5]) * lens.focal_px


def with_rings(
    panel: Panel, paths: list[ring_fit.RingPath], wave_sd: Floats, ellipse_sd: float
) -> tuple[Floats, Floats]:
    """The map's correction p (10,) that the rings ask for, and its covariance (10, 10)."""
    unknown = 12  # the map's ten, and the common ellipse's two
    information, right = np.zeros((unknown, unknown)), np.zeros(unknown)
    information[:10, :10] = np.linalg.inv(panel.covariance + 1e-12 * np.eye(10))
    information[10:, 10:] = np.eye(2) / ellipse_sd**2
    for path in paths:
        spread = np.linalg.inv(path.normal + 1e-9 * np.eye(ring_fit.TERMS)) * path.few_ratio * path.score_ratio
        spread = spread[WAVES, WAVES] + np.diag(np.repeat(np.maximum(wave_sd[:3], 0.005), 2) ** 2)
        points, _ = path.points()
        out = outward(path.bearings_deg)
        radial = np.einsum("ti,tij->tj", out, panel.field(points))
        by_map = np.linalg.lstsq(ring_fit.design(len(out)), radial, rcond=None)[0][WAVES]
        design = np.zeros((6, unknown))
        design[:, :10] = -by_map
        design[:2, 10:] = np.eye(2) * path.radius_mm
        weight = np.linalg.inv(spread)
        information += design.T @ weight @ design
        right += design.T @ weight @ path.terms[WAVES]
    covariance = np.linalg.inv(information)
    return (covariance @ right)[:10], np.asarray(covariance[:10, :10], float)


def main(number: int) -> None:
    """Print one line a kind of rings."""
    found: dict[str, list[tuple[float, float, float, float]]] = {name: [] for name in ELLIPSES}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(number):
            scene = ordinary_scene(seed + 300, SIZE_PX)
            # From straight above to oblique, and well off the middle of the picture, where circles tell most.
            shift = (0.09 * (-1) ** seed, 0.04)
            scene = scene.seen(
                SIZE_PX, fill=0.72, tilt_deg=2 + 28 * seed / number, azimuth_deg=71.0 * seed, shift=shift
            )
            path = photograph(by_hand(seed + 300), scene, seed).save(Path(folder) / f"{seed}.jpg")
            truth, photo = read_truth(path)["camera"], read_photo(path)
            try:
                panel = find_panel(photo, scene.panel.width_mm, scene.panel.height_mm)
                detection = detect(photo, panel)
                spokes = measure_spokes(photo, panel, detection)
                paths, wave_sd = fit_candidates(photo, panel, detection, spokes)
            except AligncheckError as error:
                print(f"{seed}: {error}")
                continue
            off = np.array([truth["k1"] - panel.lens.k1, truth["k2"] - panel.lens.k2])
            for name, ellipse_sd in ELLIPSES.items():
                p, covariance = with_rings(panel, paths, wave_sd, ellipse_sd)
                terms = _corner_terms(panel)
                before, after = bend_px(panel, panel.covariance), bend_px(panel, covariance)
                found[name].append((before, after, float(terms @ off), float(terms @ (off - p[8:]))))
    for name, rows in found.items():
        before, after, error, error_after = np.array(rows).T
        share = np.median(after / before)
        print(
            f"{name:9s} {len(rows)} photos: bend at the corners ± {1.96 * np.median(before):.2f} px from the sides; "
            f"with the rings {share:.3f} of that in the median, {np.min(after / before):.3f} at best; "
            f"rms error {np.sqrt(np.mean(error**2)):.3f} px, with the rings {np.sqrt(np.mean(error_after**2)):.3f} px"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 16)
