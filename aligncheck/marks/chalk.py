"""The photo as its chalk shows best: grey or a mixture of the channels, with strokes as the larger values."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.marks.mixture import LUMA
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel
from aligncheck.photo import Photo


class Chalk(NamedTuple):
    """What rows are read from: photo, map, shade of the strokes, and the mixture of red, green and blue."""

    photo: Photo
    panel: Panel
    light: bool
    mixture: tuple[float, float, float] = LUMA

    def across(self, points_mm: ArrayLike, normals: ArrayLike, offsets_mm: ArrayLike) -> NDArray[np.float32]:
        """Rows (n, m) at `offsets_mm` (m,) along the normals (n, 2) of `points_mm` (n, 2)."""
        if self.mixture == LUMA:
            values = sample_rows(self.photo.grey, self.panel, points_mm, normals, offsets_mm)
        else:
            colours = sample_rows(self.photo.rgb, self.panel, points_mm, normals, offsets_mm)
            values = np.asarray(colours @ np.asarray(self.mixture, np.float32), np.float32)
        return values if self.light else -values
