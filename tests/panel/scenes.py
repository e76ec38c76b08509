"""Rendered photos for the search: a marked panel on this or that, small enough to be quick."""

from dataclasses import dataclass, replace

import numpy as np

from aligncheck.panel import Panel, find_panel
from aligncheck.photo import Camera, Photo
from tests.render.hand import by_hand
from tests.render.photograph import photograph
from tests.render.scene import Panel as Board
from tests.render.scene import Scene, Slab, Table
from tests.truth import true_panel

SIZE_PX = (1400, 1050)
WOOD = Table("wood", "#b98d5e", strength=0.25)


@dataclass(frozen=True)
class Taken:
    """A photo and the true map of the panel in it."""

    photo: Photo
    panel: Panel

    def worst_corner_mm(self, found: Panel) -> float:
        """How far the worst corner of `found` lies off."""
        nominal = self.panel.to_panel(self.panel.corners_px)
        return float(np.linalg.norm(found.to_panel(self.panel.corners_px) - nominal, axis=1).max())

    def with_pixels(self, pixels: np.ndarray) -> Photo:
        """Other pixels from the same lens: the focal length in pixels stays."""
        whole, part = np.hypot(*self.photo.rgb.shape[:2]), np.hypot(*pixels.shape[:2])
        f35 = (self.photo.camera.f35_mm or 26.0) * whole / part
        return Photo(np.ascontiguousarray(pixels), camera=Camera(f35_mm=f35))


def taken(
    seed: int,
    *,
    size_mm: tuple[float, float] = (304.8, 304.8),
    colour: str = "#22305a",
    table: Table = WOOD,
    slabs: tuple[Slab, ...] = (),
    border_mm: float | None = None,
    tilt_deg: float = 16.0,
    roll_deg: float = 4.0,
) -> Taken:
    """Photograph a marked panel; the same arguments give the same picture."""
    scene = Scene(Board(*size_mm, colour=colour), replace(table, slabs=slabs)).seen(
        SIZE_PX, f35_mm=26.3, tilt_deg=tilt_deg, azimuth_deg=200.0, roll_deg=roll_deg, fill=0.75, k1=0.015
    )
    drawing = by_hand(seed, size_mm, 12, 12.7, 8, border_mm=border_mm)
    rendered = photograph(drawing, scene, seed)
    # Phones round the 35 mm figure to whole millimetres.
    return Taken(Photo(rendered.pixels, camera=Camera(f35_mm=26.0)), true_panel(rendered.truth))


def found_in(photo: Photo, size_mm: tuple[float, float] = (304.8, 304.8)) -> Panel:
    """Find it."""
    return find_panel(photo, *size_mm)
