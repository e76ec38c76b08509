"""What several photos of one panel gain over one, and whether their joint intervals hold.

    .venv/bin/python -m tests.bench.together_gain [PANELS]

Renders each panel from three places by three phones, checks the photos one by one and together, and prints the scatter
of outer ends and directions and the share of 95 % intervals that hold the truth.
"""

import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import numpy as np

from aligncheck.checking import check
from aligncheck.drift import Drift
from aligncheck.errors import AligncheckError
from aligncheck.geometry.angles import bearing, clockwise, wrap
from aligncheck.joint import Measured, join
from tests.render import by_hand, ordinary_scene, photograph
from tests.truth import read_truth

SIZE_PX, PHOTOS = (2400, 1800), 3


def compare(drift: Drift, truth: dict) -> tuple[list[float], list[float], list[bool]]:
    """Per spoke: outer end across it in mm, direction in degrees, and whether the direction's interval holds."""
    ends, angles, held = [], [], []
    for spoke in truth["spokes"]:
        end = np.array(spoke.get("extension_outer_mm", spoke["outer_mm"]))
        angle = float(bearing(end - np.array(spoke["inner_mm"])))
        mine = min(drift.spokes, key=lambda s: abs(float(wrap(s.angle_deg - angle))))
        ends.append(float((mine.spoke.outer_mm - end) @ clockwise(angle)))
        angles.append(float(wrap(mine.angle_deg - angle)))
        held.append(abs(angles[-1]) <= mine.angle_u95_deg)
    return ends, angles, held


def main(panels: int) -> None:
    """Print the table."""
    found: dict[str, list[tuple[list[float], list[float], list[bool]]]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(panels):
            panel = ordinary_scene(seed + 60).panel
            drawing = by_hand(seed + 60, segments=(8, 12, 16)[seed % 3])
            measured, first = [], None
            for k in range(PHOTOS):
                scene = ordinary_scene(100 * seed + k, SIZE_PX, most_tilt_deg=25.0, panel=panel)
                path = photograph(drawing, scene, k).save(Path(folder) / f"{seed}-{k}.jpg")
                try:
                    done = check(path, (panel.width_mm, panel.height_mm))
                except AligncheckError as error:
                    print(f"{path.name}: {error}")
                    continue
                first = first or read_truth(path)
                found["one photo"].append(compare(done.drift, read_truth(path)))
                measured.append(Measured.of(done))
            try:
                joint = join(measured)
            except AligncheckError as error:
                print(f"panel {seed}: {error}")
                continue
            for note in joint.together.notes:
                print(f"panel {seed}: {note.text}")
            if first is not None:
                found["together"].append(compare(joint.drift, first))
    for name, all_of in found.items():
        ends, angles, held = (np.concatenate([one[k] for one in all_of]) for k in range(3))
        rms = [float(np.sqrt(np.mean(v.astype(float) ** 2))) for v in (ends, angles)]
        print(
            f"{name:10s} outer end {rms[0]:.3f} mm, direction {rms[1]:.4f} deg, {held.mean():.3f} of {len(held)} held"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6)
