"""Everything around the drawing: panel, table, light, and what the phone does to the picture. Colours are sRGB hex."""

from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, stand

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Panel:
    """The panel: size, thickness, paint. `corner_shift_mm`: how far each corner is from an exact rectangle's.

    `side_bow_mm`: how far the sides top, right, bottom, left bow outwards in the middle against their ends; their
    least-squares lines still cross at the corners.
    """

    width_mm: float = 304.8
    height_mm: float = 304.8
    depth_mm: float = 3.0
    corner_radius_mm: float = 1.0
    edge_round_mm: float = 0.12
    colour: str = "#101010"
    side_colour: str | None = None
    surface: Literal["plain", "weave", "wood"] = "weave"
    surface_strength: float = 0.08
    corner_shift_mm: tuple[tuple[float, float], ...] = ((0.0, 0.0),) * 4
    side_bow_mm: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    #: A printed picture (h, w, 3), sRGB codes, that fills the face: a board, a target.
    printed: NDArray[np.uint8] | None = None

    @property
    def corners_mm(self) -> Floats:
        """Top left, top right, bottom right, bottom left (4, 2)."""
        w, h = self.width_mm / 2, self.height_mm / 2
        exact = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
        return exact + np.asarray(self.corner_shift_mm)


@dataclass(frozen=True)
class Slab:
    """A flat thing on the table or across the panel: a sheet under it, a ruler, a paper, a brush."""

    centre_mm: tuple[float, float]
    size_mm: tuple[float, float]
    angle_deg: float = 0.0
    colour: str = "#d8d2c0"
    over_panel: bool = False


@dataclass(frozen=True)
class Table:
    """What the panel lies on."""

    kind: Literal["plain", "wood", "cloth", "mat", "planks", "tiles", "newsprint", "stripes", "terrazzo", "carpet"] = (
        "wood"
    )
    colour: str = "#b08a5a"
    line_colour: str = "#cfe6d6"
    strength: float = 0.25
    turn_deg: float = 7.0
    slabs: tuple[Slab, ...] = ()
    #: How far behind the panel's back it is: a wall behind an easel.
    below_mm: float = 0.0


@dataclass(frozen=True)
class Tray:
    """A tray frame: a bar all round, `gap_mm` from the panel's sides, whose top stands `top_mm` above the face."""

    gap_mm: float = 5.0
    width_mm: float = 18.0
    top_mm: float = 4.0
    colour: str = "#6b4a2c"


@dataclass(frozen=True)
class Light:
    """Where the light comes from. `at_mm`: in the panel frame, z towards the viewer.

    `ambient`: its share; `glare`: strength of the sheen on the panel, `glare_at_mm` where, `glare_mm` how wide;
    `contact`: how dark the seam is; `penumbra`: of the panel's own cast shadow, as a share of its length;
    `across`: a soft shadow over everything, (x, y of a point on its border, direction it lies in, softness mm, depth).
    """

    at_mm: tuple[float, float, float] = (-500.0, -300.0, 800.0)
    ambient: float = 0.45
    glare: float = 0.0
    glare_at_mm: tuple[float, float] = (60.0, -80.0)
    glare_mm: float = 90.0
    contact: float = 0.5
    cast: float = 0.35
    penumbra: float = 0.8
    across: tuple[float, float, float, float, float] | None = None


@dataclass(frozen=True)
class Finish:
    """What lens and phone do: blur (sd in px), noise (sd at white, linear), exposure, sharpening, the file.

    `vignette`: how much darker the corners are; `f35_mm`: what the file states, where that is not the picture's own
    (a gallery's crop keeps what the whole photo had).
    """

    exposure: float = 0.85
    blur_px: float = 0.7
    noise: float = 0.008
    sharpen: float = 0.0
    jpeg_quality: int = 92
    orientation: int = 1
    make: str | None = "Render"
    model: str | None = "Bench 1"
    f35_in_exif: bool = True
    f35_mm: float | None = None
    vignette: float = 0.0
    taken: str = "2026-05-04T10:20:30"


@dataclass(frozen=True)
class Scene:
    """All of it."""

    panel: Panel = field(default_factory=Panel)
    table: Table = field(default_factory=Table)
    light: Light = field(default_factory=Light)
    finish: Finish = field(default_factory=Finish)
    camera: Camera | None = None
    tray: Tray | None = None

    def seen(self, size_px: tuple[int, int], **how: Any) -> "Scene":
        """The same scene with a camera set up by `stand`."""
        size = (self.panel.width_mm, self.panel.height_mm)
        return replace(self, camera=stand(size_px, size, **how))


def linear(colour: str) -> NDArray[np.float32]:
    """Linear light (3,) of an sRGB hex colour, red first (IEC 61966-2-1)."""
    codes = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4).astype(np.float32)
