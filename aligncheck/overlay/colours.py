"""The colours of the drawings and the two grounds they stand on.

Orange means "act on this" and nothing else. No core colour holds on every panel, so every line has a casing:
core against casing is 7.9 to 1 or more (WCAG contrast), and in grey it is dash against solid and fill against hollow
that tell them apart.
"""

from typing import NamedTuple

RGB = tuple[int, int, int]

INK: RGB = (0x15, 0x13, 0x0F)
BONE: RGB = (0xFB, 0xF7, 0xEC)
MOVE: RGB = (0xFF, 0x8B, 0x1E)
PLAN: RGB = (0xA9, 0xE2, 0xFF)
QUIET_ON_DARK: RGB = (0xB9, 0xB2, 0xA3)
QUIET_ON_LIGHT: RGB = (0x5B, 0x55, 0x48)

#: How much of the photo outside the panel is left: enough to see where the panel lies, too little to distract.
OUTSIDE_LEFT = 0.38


class Theme(NamedTuple):
    """Colours that change with the ground: `ground` and `text`, `quiet` for second-rank text and outlines."""

    ground: RGB
    text: RGB
    quiet: RGB


DARK = Theme(INK, BONE, QUIET_ON_DARK)
LIGHT = Theme(BONE, INK, QUIET_ON_LIGHT)


def relative_luminance(colour: RGB) -> float:
    """Relative luminance, 0 to 1, as WCAG 2.2 defines it."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: RGB, other: RGB) -> float:
    """Contrast of two colours, 1 to 21, as WCAG 2.2 defines it."""
    light, dark = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
