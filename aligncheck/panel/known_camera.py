"""What is believed of the lens before the sides are seen: a profile, EXIF, or what phones are like."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.lens import Lens
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Prior spread of a phone's bend after its own correction.
K1_SD, K2_SD = 0.035, 0.012
#: EXIF rounds the 35 mm figure to whole millimetres: 1.1 % at 26 mm; makers differ by a little more.
FOCAL_SD = 0.014
#: Without EXIF: phones' main cameras (26 mm, that is 0.75 of the longer side) and their neighbours.
FREE_FOCAL, FREE_FOCAL_SD = 0.75, 0.35
#: The lens's axis against the middle of the picture, as a share of the longer side (stabilised sensors move).
AXIS_SD = 0.004
#: Of a photo cropped to about two thirds: the panel was seldom in the very middle of the whole one.
CROPPED_AXIS_SD = 0.1
#: A profile that states no covariance, and the least that is believed of one that does (a lens refocuses): k1, k2,
#: log focal length, axis as a share of the longer side.
PROFILE_SD = np.array([0.003, 0.003, 0.003, 0.0005, 0.0005])
LEAST_SD = np.array([0.0005, 0.0005, 0.0005, 0.0001, 0.0001])


class KnownCamera(NamedTuple):
    """What is believed of the lens before the sides are seen.

    Attributes
    ----------
    lens : Lens
    covariance : ndarray (5, 5)
        Prior covariance of k1, k2, log focal length, cx, cy about `lens`.
    start : Lens or None
        Where the fit begins, if elsewhere.
    """

    lens: Lens
    covariance: Floats
    start: Lens | None = None

    @property
    def spread(self) -> Floats:
        """Standard deviations (5,) of the same."""
        return np.sqrt(np.diag(self.covariance))


def believed_camera(photo: Photo, profile: Lens | None) -> KnownCamera:
    """From a profile, from EXIF, or from what phones are like."""
    size = float(max(photo.width_px, photo.height_px))
    if profile is not None:
        return KnownCamera(profile, _profile_covariance(profile, size))
    focal = photo.focal_px_by_camera
    axis = (CROPPED_AXIS_SD if photo.cropped else AXIS_SD) * size
    spread = np.array([K1_SD, K2_SD, FOCAL_SD if focal else FREE_FOCAL_SD, axis, axis])
    middle = ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    return KnownCamera(Lens(focal or FREE_FOCAL * size, *middle, source="panel"), np.diag(spread**2))


def _profile_covariance(profile: Lens, size_px: float) -> Floats:
    """What a profile is believed to: its own covariance and the least that a refocused lens moves."""
    units = np.array([1, 1, 1, size_px, size_px])
    if profile.covariance is None:
        return np.diag((PROFILE_SD * units) ** 2)
    # The profile orders focal length, cx, cy, k1, k2.
    order = np.array([3, 4, 0, 1, 2])
    to_log = np.array([1, 1, 1 / profile.focal_px, 1, 1])
    own = profile.covariance[np.ix_(order, order)] * np.outer(to_log, to_log)
    return np.asarray(own + np.diag((LEAST_SD * units) ** 2), float)
