"""Whether an outline stands out from what lies around it: a panel shades its sheet, a painted border shades nothing.

A dark band painted along the sides looks like a shade; but beyond it the panel's own ground goes on.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.small import median
from aligncheck.panel.bands import bands_of
from aligncheck.panel.beside import colours_beside
from aligncheck.panel.panel import Panel

#: How far outside is looked at, and there the rows next to the outline (but for its blur) and those far from it, px of
#: the rectified picture.
OUTSIDE_PX, NEXT_PX, FAR_PX = 24, (3, 7), (16, 24)
#: Fewer rows than this far from it do not tell.
LEAST_FAR_PX = 3
#: A side is shaded where the codes next to it are this much (share) below those further out, on nearly all its pieces.
LEAST_DIP, LEAST_SHARE = 0.04, 0.8
#: The panel's ground is looked at so far inside an outline that may be its own, and so far inside a border, mm.
GROUND_MM = (1.0, 2.0, 3.5, 5.0)
#: Share of its codes within which a ground is the same some millimetres on; black is not nothing.
LIKE, BLACK = 0.06, 20.0


def throws_shadow(pixels: NDArray[np.uint8], panel: Panel, within_px: ArrayLike | None = None) -> bool:
    """Whether what lies outside at least one side of `panel` darkens towards it.

    Panels are 3 mm thick and more: lamps and sky light the table beside them less, at least on one side. Where another
    outline follows, only what lies `within_px` (4, 2), its corners in photo pixels, is looked at: beyond a dark panel's
    own side a bright table would look like the end of a shadow.
    """
    room = np.full(4, np.inf) if within_px is None else _room_mm(panel, within_px)
    bands = bands_of(pixels, panel, depth=0.02, outside=OUTSIDE_PX)
    return any(_shaded(b.values[..., 0], float(r) * b.px_per_mm) for b, r in zip(bands, room, strict=True))


def ground_goes_on(pixels: NDArray[np.uint8], panel: Panel, outer_px: ArrayLike) -> bool:
    """Whether beside all sides of an outline (4, 2) around `panel` its ground shows again, as it is within `panel`."""
    room = _room_mm(panel, outer_px)
    return all(_alike(pixels, panel, k, float(mm) - GROUND_MM[0]) for k, mm in enumerate(room))


def _alike(pixels: NDArray[np.uint8], panel: Panel, side: int, outside_mm: float) -> bool:
    """Whether the ground so far outside a side is the one that lies within it."""
    seen = colours_beside(pixels, panel, side, (-outside_mm, *GROUND_MM[1:]))
    within = seen[1:].mean(0)
    return bool((np.abs(seen[0] - within) < LIKE * (within + BLACK)).all())


def _room_mm(panel: Panel, outer_px: ArrayLike) -> NDArray[np.float64]:
    """Least distances (4,) in mm between the top, right, bottom and left side and those of an outline around them."""
    beyond = np.abs(panel.to_panel(outer_px)) - (panel.width_mm / 2, panel.height_mm / 2)
    return np.minimum(beyond, np.roll(beyond, -1, axis=0))[np.arange(4), (1, 0, 1, 0)]


def _shaded(luminance: NDArray[np.float32], room_px: float) -> bool:
    # The other edge is blurred as well.
    end = int(min(FAR_PX[1], room_px - NEXT_PX[0]))
    start = max(end - (FAR_PX[1] - FAR_PX[0]), NEXT_PX[1])
    if end - start < LEAST_FAR_PX:
        return False
    beside, far = (
        luminance[OUTSIDE_PX - last : OUTSIDE_PX - first].mean(axis=0) for first, last in (NEXT_PX, (start, end))
    )
    dip = 1 - (beside + 1) / (far + 1)
    return bool(median(dip) > LEAST_DIP and (dip > 0).mean() > LEAST_SHARE)
