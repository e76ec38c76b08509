"""Photos that no search need be tried on: too small, too dark, blown out."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import PhotoError

#: On fewer pixels than this on the short side, one millimetre of a usual panel is less than two pixels.
LEAST_SHORT_SIDE_PX = 600
#: sRGB codes: where even the brightest hundredth is darker, only noise is left (about 2 % of full light).
LEAST_BRIGHTEST_CODE, LEAST_BRIGHT = 40, 0.01
#: From this code on in all three colours nothing shows any more; over more than this share the panel is lost.
WHITE_CODE, MOST_WHITE = 250, 0.6


def require_size(width_px: int, height_px: int) -> None:
    """Raise PhotoError ``photo_too_small`` where the photo has too few pixels to measure on."""
    if min(width_px, height_px) < LEAST_SHORT_SIDE_PX:
        raise PhotoError("photo_too_small", width_px=width_px, height_px=height_px, least_px=LEAST_SHORT_SIDE_PX)


def require_light(rgb: NDArray[np.uint8]) -> None:
    """Raise PhotoError ``photo_too_dark`` or ``photo_blown_out`` for reduced pixels (h, w, 3) of such a photo."""
    # Every third pixel either way tells as much.
    red, green, blue = (rgb[::3, ::3, k] for k in range(3))
    if float((np.maximum(np.maximum(red, green), blue) >= LEAST_BRIGHTEST_CODE).mean()) < LEAST_BRIGHT:
        raise PhotoError("photo_too_dark")
    if float((np.minimum(np.minimum(red, green), blue) >= WHITE_CODE).mean()) > MOST_WHITE:
        raise PhotoError("photo_blown_out")
