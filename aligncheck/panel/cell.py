"""Whether an outline is a cell of something ruled: a panel's sides end at its corners, a grid's lines go on."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.outlines import ends_going_on, side_steps
from aligncheck.panel.small import SmallView

Floats = NDArray[np.float64]

#: A side goes on if what lies beyond its corner keeps this share of its own step.
GOES_ON = 0.5
#: A table's edge or a mat's line may run in line with one side or two; of eight ends, so many are more than chance.
MANY_ENDS = 6
#: Steps smaller than this many scatters (see `steps_across`) show nothing beyond a corner.
LEAST_STEP = 0.15


def is_cell(view: SmallView, corners_px: Floats) -> bool:
    """Whether an outline with these corners, (4, 2) in photo pixels, goes on beyond nearly all of its ends."""
    corners = view.from_photo(corners_px)[None]
    steps = np.stack([side_steps(view, corners, k) for k in range(4)], axis=1)
    strength = np.maximum(np.linalg.norm(steps, axis=-1), LEAST_STEP)
    share = ends_going_on(view, corners, steps) / strength[..., None]
    return int((share > GOES_ON).sum()) >= MANY_ENDS
