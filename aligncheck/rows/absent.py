"""Petals that a row should have and the photo does not show: nothing can be said of those."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.rows.petals import Row
from aligncheck.units import clock_span

Floats = NDArray[np.float64]

#: White in all channels from this code on; a tip is hidden if all is white so far about it, mm, which no stroke is.
WHITE, ABOUT_MM = 250, 2.5


def absent(rows: Sequence[Row], segments: int) -> tuple[Note, ...]:
    """A note for every row of which not all petals show: how many, and where."""
    notes = []
    for row in rows:
        shown = {petal.segment for petal in row.petals}
        gone = np.array([k for k in range(segments) if k + 1 not in shown])
        if len(gone):
            known = row.petals[0]
            where = clock_span(known.ideal_deg + 360.0 / segments * (gone + 1 - known.segment))
            notes.append(Note("petals_absent", {"row": row.number, "count": len(gone), "of": segments, "where": where}))
    return tuple(notes)


def hidden(photo: Photo, panel: Panel, tips_mm: Floats) -> NDArray[np.bool_]:
    """Which tips (n, 2) glare hides: all about them is white, which the panel in general is not."""
    steps = np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)]) * ABOUT_MM
    bare = (np.mgrid[-4:5, -4:5].reshape(2, -1).T / 10) * (panel.width_mm, panel.height_mm)
    if _white(photo, panel, bare).mean() > 0.5:
        return np.zeros(len(tips_mm), bool)
    return np.asarray(_white(photo, panel, tips_mm[:, None] + steps).all(1), bool)


def _white(photo: Photo, panel: Panel, points_mm: Floats) -> NDArray[np.bool_]:
    """Where (...) the photo is white at points (..., 2) of the panel."""
    pixels = np.rint(panel.to_photo(points_mm)).astype(np.int64)
    x, y = np.clip(pixels[..., 0], 0, photo.width_px - 1), np.clip(pixels[..., 1], 0, photo.height_px - 1)
    return np.asarray(photo.rgb[y, x].min(-1) >= WHITE, bool)
