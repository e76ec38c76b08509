"""Benches as painters have them, chosen by a seed: panel paint, table, lamp, phone, where the phone is held."""

import numpy as np

from tests.render.scene import Finish, Light, Panel, Scene, Table

PAINTS = {"black": "#1b1b1d", "navy": "#22305a", "green": "#1f4a3a", "wine": "#4a1a24", "grey": "#5a5a5c"}
TABLES = (
    Table("wood", "#b98d5e", strength=0.25),
    Table("wood", "#d9c09a", strength=0.15),
    Table("plain", "#d8d5cf", strength=0.08),
    Table("cloth", "#c9c2b4", strength=0.12),
    Table("mat", "#4f8f78", strength=0.06),
    Table("plain", "#bfa37a", strength=0.12),
)


def ordinary_scene(
    seed: int,
    size_px: tuple[int, int] = (2048, 1536),
    panel_mm: tuple[float, float] = (304.8, 304.8),
    *,
    most_tilt_deg: float = 28.0,
    panel: Panel | None = None,
) -> Scene:
    """A scene with its camera set up, as a painter would take it without much care."""
    rng = np.random.default_rng([seed, 5])
    if panel is None:
        paint = list(PAINTS.values())[rng.integers(len(PAINTS))]
        depth = float(rng.choice([3.0, 3.0, 4.0, 18.0]))
        # Some boards are painted round their edges, of some the raw edge shows.
        side = None if rng.random() < 0.6 else "#a98a5f"
        shift = out_of_square(rng, depth)
        panel = Panel(*panel_mm, depth_mm=depth, colour=paint, side_colour=side, corner_shift_mm=shift)
    table = TABLES[rng.integers(len(TABLES))]
    at = rng.uniform(-900, 900), rng.uniform(-900, 300), rng.uniform(600, 1500)
    glare = float(rng.choice([0.0, 0.0, 0.05, 0.12]))
    light = Light(at, ambient=float(rng.uniform(0.35, 0.65)), glare=glare, contact=float(rng.uniform(0.3, 0.6)))
    finish = Finish(
        exposure=float(rng.uniform(0.75, 1.0)),
        blur_px=float(rng.uniform(0.55, 0.95)),
        noise=float(rng.uniform(0.004, 0.012)),
        jpeg_quality=int(rng.integers(86, 96)),
        orientation=int(rng.choice([1, 1, 1, 3, 6, 8])),
    )
    return Scene(panel, table, light, finish).seen(
        size_px,
        f35_mm=float(rng.uniform(24, 28)),
        tilt_deg=float(rng.uniform(2, most_tilt_deg)),
        azimuth_deg=float(rng.normal(180, 60)),
        roll_deg=float(rng.normal(0, 5)),
        fill=float(rng.uniform(0.68, 0.9)),
        shift=(float(rng.normal(0, 0.02)), float(rng.normal(0, 0.02))),
        principal_px=(float(rng.normal(0, 0.004) * size_px[0]), float(rng.normal(0, 0.004) * size_px[1])),
        k1=float(rng.normal(0, 0.02)),
        k2=float(rng.normal(0, 0.01)),
    )


def out_of_square(rng: np.random.Generator, depth_mm: float) -> tuple[tuple[float, float], ...]:
    """Corner shifts of a panel out of square and size, whose diagonals cross at 0.

    Boards are cut by machine, to some hundredths of a millimetre; stretched canvases are off by tenths.
    Opposite corners move by opposite vectors: the diagonals then still halve each other at the origin.
    """
    (ax, ay), (bx, by) = rng.normal(0, 0.15 if depth_mm > 10 else 0.03, (2, 2))
    return (ax, ay), (bx, by), (-ax, -ay), (-bx, -by)
