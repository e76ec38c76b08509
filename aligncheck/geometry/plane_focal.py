"""The focal length that one view of a known plane implies.

The two columns of a plane's map are its axes in space: equally long and at right angles, in front of the right camera
(Zhang, IEEE PAMI 22 (2000) 1330, equations 3 and 4).
"""

import numpy as np
from numpy.typing import ArrayLike


def focal_by_right_angle(homography: ArrayLike) -> float | None:
    """Focal length that makes the plane's axes orthogonal.

    `homography` (3, 3): from plane units to pixels counted from the principal point (square pixels, bend removed).
    None where the view says nothing: an axis of the plane runs parallel to the picture.
    """
    h = np.asarray(homography, float)
    return _root(-(h[0, 0] * h[0, 1] + h[1, 0] * h[1, 1]), h[2, 0] * h[2, 1])


def focal_by_equal_axes(homography: ArrayLike) -> float | None:
    """Focal length that makes the plane's axes equally long; arguments as in `focal_by_right_angle`."""
    h = np.asarray(homography, float)
    first, second = h[0, 0] ** 2 + h[1, 0] ** 2, h[0, 1] ** 2 + h[1, 1] ** 2
    return _root(first - second, h[2, 1] ** 2 - h[2, 0] ** 2)


def _root(above: float, below: float) -> float | None:
    if below == 0 or above / below <= 0:
        return None
    return float(np.sqrt(above / below))
