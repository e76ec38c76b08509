"""What the panel lies on: plain, wood, cloth or a cutting mat with lines, and flat things around."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.grounds import GROUNDS, PX_PER_MM, SIDE_PX
from tests.render.scene import Slab, Table, linear
from tests.render.tiles import Image, View


@dataclass(frozen=True)
class TableTop:
    """A table with its pattern painted."""

    table: Table
    pattern: NDArray[np.float32]

    @classmethod
    def painted(cls, table: Table, rng: np.random.Generator) -> "TableTop":
        """Paint the pattern: relative brightness or colour, mean about 1."""
        return cls(table, GROUNDS[table.kind](rng, table.strength))

    def colour(self, view: View) -> Image:
        """Reflectance (h, w, 3) where `view` shows the table."""
        a = np.radians(self.table.turn_deg)
        c, s = np.float32(np.cos(a)), np.float32(np.sin(a))
        x, y = view.xy[..., 0], view.xy[..., 1]
        u, v = c * x + s * y, c * y - s * x
        middle = np.float32(SIDE_PX / 2)
        ppm = np.float32(PX_PER_MM)
        tone = cv2.remap(
            self.pattern, u * ppm + middle, v * ppm + middle, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
        )
        colour = (tone if tone.ndim == 3 else tone[..., None]) * linear(self.table.colour)
        if self.table.kind == "mat":
            lines = np.maximum(_grid(u, v, view.mm_per_px, 10.0, 0.25) * 0.6, _grid(u, v, view.mm_per_px, 50.0, 0.6))
            colour += lines[..., None] * (linear(self.table.line_colour) - colour)
        return np.asarray(colour, np.float32)


def _grid(u: Image, v: Image, mm_per_px: Image, pitch: float, width: float) -> Image:
    """Coverage of lines `width` mm wide at every `pitch` mm."""
    half, step = np.float32(pitch / 2), np.float32(pitch)
    near = np.minimum(np.abs((u + half) % step - half), np.abs((v + half) % step - half))
    return np.clip((np.float32(width / 2) - near) / mm_per_px + 0.5, 0, 1)


def lay_slab(colour: Image, slab: Slab, view: View) -> None:
    """Put a flat thing on the picture `colour` (h, w, 3) in place, with a soft dark seam around it."""
    a = np.radians(slab.angle_deg)
    along, across = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    centre, (w, h) = np.asarray(slab.centre_mm), slab.size_mm
    distance = np.minimum.reduce(
        [
            view.distance_px(n, float(n @ centre + half))
            for n, half in ((along, w / 2), (-along, w / 2), (across, h / 2), (-across, h / 2))
        ]
    )
    seam = np.exp(np.minimum(distance, 0) * view.mm_per_px / np.float32(1.2))
    colour *= (1 - 0.35 * seam)[..., None]
    inside = np.clip(distance + 0.5, 0, 1)
    colour += inside[..., None] * (linear(slab.colour) - colour)
