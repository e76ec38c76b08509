"""How well the repeat test finds one fault planted in a piece that is otherwise as a hand sets it.

    python -m tests.bench.planted [--seeds 4] [--first 1] [--only missing,smudge] [--keep FOLDER] [--light] [--hand]

Each seed is a design of its own, 6 to 16 segments of painted petals, rings and walked runs of dots on chalk. It is
painted once without a fault, and once more for each fault of `tests.repeat.faults`. A fault is found if a departure
lies on it, first if that leads the list; all others are told wrongly. `--light`: the faultless piece and one fault in
lights of many kinds. `--hand`: what the two scores say of steady and unsteady hands.
"""

import argparse
from collections import defaultdict
from pathlib import Path

import numpy as np

from aligncheck.photo import Photo, read_photo
from aligncheck.repeat import Repeat, find_repeat
from tests.repeat.faults import FAULTS, Fault, Plant
from tests.repeat.lights import LIGHTS
from tests.repeat.planted import design, paint
from tests.truth import read_truth, true_marks, true_panel

#: A departure is on the fault if it lies this far beyond its rim at most, mm.
NEAR_MM = 2.5


def look(path: Path, change=None) -> Repeat:
    """The repeat test on the photo, in the true panel and about the true centre."""
    truth = read_truth(path)
    photo, panel = read_photo(path), true_panel(truth)
    if change is not None:
        photo = Photo(change(photo.rgb, panel))
    return find_repeat(photo, panel, np.array(truth["centre_mark_mm"]), truth["segments"], marks=true_marks(truth))


def rank(repeat: Repeat, fault: Fault) -> int | None:
    """Place of the fault in the list, from 1; None where it is not there."""
    far = [float(np.hypot(*(d.place_mm - fault.at_mm))) for d in repeat.departures]
    return next((k + 1 for k, mm in enumerate(far) if mm < fault.radius_mm + NEAR_MM), None)


def others(repeat: Repeat, fault: Fault | None) -> int:
    """How many departures lie on no fault."""
    if fault is None:
        return len(repeat.departures)
    far = [float(np.hypot(*(d.place_mm - fault.at_mm))) for d in repeat.departures]
    return sum(mm >= fault.radius_mm + NEAR_MM for mm in far)


def drawn(
    folder: Path, seed: int, plant: Plant | None, name: str, hand: float | None = None
) -> tuple[Path, Fault | None]:
    """The photo of a seed's piece with this fault, drawn where it is not there yet."""
    path = folder / f"{seed}_{name.replace(' ', '_')}.jpg"
    drawing, scene = design(seed, hand)
    fault = None
    if plant is not None:
        drawing, fault = plant(drawing, np.random.default_rng([seed, 3]))
    if not path.exists():
        paint(drawing, scene, seed).save(path)
    return path, fault


def faults(folder: Path, seeds: range, only: list[str] | None) -> None:
    print(f"{'':24s}  n found first wrong-others")
    told = defaultdict(list)
    for name, plant in {"none": None, **FAULTS}.items():
        if only and not any(name.startswith(one) for one in only):
            continue
        for seed in seeds:
            path, fault = drawn(folder, seed, plant, name)
            repeat = look(path)
            told[name].append((None if fault is None else rank(repeat, fault), others(repeat, fault)))
        ranks = [r for r, _ in told[name]]
        found, first = sum(r is not None for r in ranks), sum(r == 1 for r in ranks)
        wrong = [o for _, o in told[name]]
        print(f"{name:24s} {len(ranks):2d} {found:5d} {first:5d}  {wrong}", flush=True)


def lights(folder: Path, seeds: range) -> None:
    print("light: edge mm, colour, departures that are none / the fault's place in the list")
    for seed in seeds:
        clean, _ = drawn(folder, seed, None, "none")
        faulty, fault = drawn(folder, seed, FAULTS["missing"], "missing")
        for name, change in LIGHTS.items():
            one, other = look(clean, change), look(faulty, change)
            edge, colour = one.edge_mm or np.nan, one.colour or np.nan
            assert fault is not None
            print(
                f"{seed:2d} {name:22s} {edge:.2f} {colour:5.2f} {len(one.departures):3d}   {rank(other, fault)}"
                f" {others(other, fault)} order {one.order} left {one.left_out} glare {one.glare_share:.2f}",
                flush=True,
            )


def hands(folder: Path, seeds: range) -> None:
    print("hand: mm of straying, edge mm, colour, departures")
    for seed in seeds:
        for sd in (0.001, 0.1, 0.3, 0.6, 1.0):
            path, _ = drawn(folder, seed, None, f"hand {sd}", sd)
            one = look(path)
            print(f"{seed:2d} {sd:5.2f} {one.edge_mm or np.nan:.2f} {one.colour or np.nan:5.2f} {len(one.departures)}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--only", help="faults, by commas")
    parser.add_argument("--keep", type=Path, required=True, help="photos are left here; those that lie there are used")
    parser.add_argument("--light", action="store_true")
    parser.add_argument("--hand", action="store_true")
    a = parser.parse_args()
    a.keep.mkdir(parents=True, exist_ok=True)
    seeds = range(a.first, a.first + a.seeds)
    if a.light:
        lights(a.keep, seeds)
    elif a.hand:
        hands(a.keep, seeds)
    else:
        faults(a.keep, seeds, a.only.split(",") if a.only else None)


if __name__ == "__main__":
    main()
