"""Linear light as luminance and colour ratios: a surface keeps its ratios where light and grain change."""

import numpy as np

from aligncheck.panel.strips import Singles

#: Added to linear light before logarithms: about the black level's noise of a phone; more for colour ratios, because
#: JPEG lets the colour of a bright table bleed some pixels into a dark panel.
DARK, DARK_COLOUR = 0.004, 0.02


def log_channels(light: Singles) -> Singles:
    """Linear light (..., 3) to log luminance, log red/green, log blue/green."""
    red, green, blue = (light[..., c] + DARK_COLOUR for c in range(3))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue - (DARK_COLOUR - DARK)
    return np.stack([np.log(luminance), np.log(red / green), np.log(blue / green)], axis=-1).astype(np.float32)


def colour_shares(light: Singles) -> Singles:
    """Linear light (..., 3) to (R - B) / Y and (G - (R + B) / 2) / Y, shape (..., 2).

    Unlike log ratios these mix in proportion where two surfaces of one luminance blur into each other, so that the
    middle of the change is the middle of the edge.
    """
    red, green, blue = light[..., 0], light[..., 1], light[..., 2]
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue + DARK_COLOUR
    return np.stack([(red - blue) / luminance, (green - (red + blue) / 2) / luminance], axis=-1).astype(np.float32)
