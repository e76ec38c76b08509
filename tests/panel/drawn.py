"""Small photos of a plain panel, drawn with a known camera: soft edges in linear light, noise, sRGB codes."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from aligncheck.lens import Lens
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Camera, Photo

WIDTH_PX, HEIGHT_PX = 1600, 1200
FOCAL_PX = 1210.0


@dataclass(frozen=True)
class Pose:
    """How a panel is seen: turn in the picture plane, tilt about an axis at `azimuth_deg`, distance, shift (mm)."""

    turn_deg: float = 3.0
    tilt_deg: float = 15.0
    azimuth_deg: float = 40.0
    distance_mm: float = 480.0
    shift_mm: tuple[float, float] = (6.0, -4.0)


def true_panel(pose: Pose = Pose(), size_mm: tuple[float, float] = (300.0, 260.0), k1: float = 0.03) -> Panel:
    """The panel with its exact map."""
    turn, azimuth = np.radians(pose.turn_deg), np.radians(pose.azimuth_deg)
    axis = np.radians(pose.tilt_deg) * np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    rotation = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array([0, 0, turn]))[0]
    lens = Lens(FOCAL_PX, (WIDTH_PX - 1) / 2 + 4, (HEIGHT_PX - 1) / 2 - 3, k1, 0.0, "profile")
    flat = nominal_corners(*size_mm)
    world = np.column_stack([flat, np.zeros(4)]) @ rotation.T + [*pose.shift_mm, pose.distance_mm]
    return Panel.from_corners(*size_mm, lens, lens.bend(world[:, :2] / world[:, 2:]))


def inside_share(panel: Panel, grow_mm: float = 0.0, blur_px: float = 0.8) -> np.ndarray:
    """How much (0 to 1) of each pixel's light comes from inside the panel, widened by `grow_mm`; shape (h, w)."""
    from scipy.special import ndtr

    x, y = np.meshgrid(np.arange(WIDTH_PX, dtype=float), np.arange(HEIGHT_PX, dtype=float))
    pixels = panel.lens.unbend(np.stack([x, y], axis=-1))
    size = (panel.width_mm + 2 * grow_mm, panel.height_mm + 2 * grow_mm)
    wide = replace(panel, width_mm=size[0], height_mm=size[1])
    corners = wide.lens.unbend(wide.to_photo(nominal_corners(*size)))
    share = np.ones((HEIGHT_PX, WIDTH_PX))
    for i in range(4):
        along = corners[(i + 1) % 4] - corners[i]
        normal = np.array([along[1], -along[0]]) / np.linalg.norm(along)
        share *= ndtr(-((pixels - corners[i]) @ normal) * panel.lens.focal_px / blur_px)
    return share


def codes(light: np.ndarray, noise: float = 0.003, seed: int = 3) -> np.ndarray:
    """Linear light (h, w, 3) with noise to sRGB codes."""
    noisy = np.clip(light + np.random.default_rng(seed).normal(0, noise, light.shape), 0, 1)
    return np.round(255 * np.where(noisy < 0.0031308, 12.92 * noisy, 1.055 * noisy ** (1 / 2.4) - 0.055)).astype(
        np.uint8
    )


def photo_of(panel: Panel, face=(0.04, 0.04, 0.05), table=(0.5, 0.36, 0.2), exif: bool = True, **noise) -> Photo:
    """A photo of a plain face on a plain table."""
    share = inside_share(panel)[..., None]
    return as_photo(codes(share * face + (1 - share) * table, **noise), exif)


def as_photo(rgb: np.ndarray, exif: bool = True) -> Photo:
    # 26 mm on film of 43.27 mm diagonal and 2000 px across the picture's: 1202 px, 0.7 % off the truth.
    return Photo(rgb=rgb, camera=Camera(f35_mm=26.0 if exif else None))


def rough(panel: Panel, seed: int = 1, most_px: float = 4.0) -> np.ndarray:
    """Corners as a search on a reduced picture would give them."""
    return panel.corners_px + np.random.default_rng(seed).uniform(-most_px, most_px, (4, 2))


def corner_errors_mm(found_px: np.ndarray, panel: Panel) -> np.ndarray:
    """Distance of each found corner from its true place, on the panel."""
    return np.linalg.norm(panel.to_panel(found_px) - nominal_corners(panel.width_mm, panel.height_mm), axis=1)
