"""The SpokeSet value: all spokes of a photo, measured together, and what was learned of its strokes on the way."""

from typing import NamedTuple

from aligncheck.marks.marks import Line, Spoke


class SpokeSet(NamedTuple):
    """The spokes of one photo.

    Attributes
    ----------
    spokes : tuple of Spoke
        Clockwise from 12 o'clock; places where no stroke is seen have none.
    width_mm : float
        Full width at half height of the photo's usual stroke.
    blur_mm : float
        Standard deviation of the Gaussian that blurs a stroke's edge, lens and chalk together.
    strength : float
        Step of a usual stroke against the panel beside it, in codes of the grey that was read; positive.
    mixture : (float, float, float)
        Weights of red, green and blue in that grey.
    others : tuple of Line
        Straight strokes near spokes that are neither spoke nor diagonal (wiped lines, strays), rough.
    kink_mm : float or None
        Distance from the centre at which spokes drawn in two strokes change direction.
    """

    spokes: tuple[Spoke, ...]
    width_mm: float
    blur_mm: float
    strength: float = 0.0
    mixture: tuple[float, float, float] = (0.299, 0.587, 0.114)
    others: tuple[Line, ...] = ()
    kink_mm: float | None = None
