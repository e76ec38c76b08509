"""What is kept of one checked photo until the others are there."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from aligncheck.checking import Check
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.photo import Camera, Photo


@dataclass(frozen=True)
class Measured:
    """One measured photo without its pixels, light enough to wait for the others or to come from another process."""

    name: str
    sha256: str | None
    taken: str | None
    camera: Camera
    size_px: tuple[int, int]
    marks: Marks
    notes: tuple[Note, ...]

    @classmethod
    def of(cls, done: Check) -> "Measured":
        """What is to be kept of a finished check."""
        photo = done.photo
        name = photo.path.name if photo.path else "photo"
        size = (photo.width_px, photo.height_px)
        return cls(name, photo.sha256, photo.taken, photo.camera, size, done.marks, done.notes)

    def photo(self) -> Photo:
        """A Photo of the right size whose pixels are all black and take no memory."""
        width, height = self.size_px
        blank = np.broadcast_to(np.uint8(0), (height, width, 3))
        return Photo(blank, Path(self.name), self.sha256, self.taken, self.camera)
