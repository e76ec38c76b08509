"""One photo of a board, reduced to what the lens fit needs, so that many photos need no memory."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.lens.bend import Lens
from aligncheck.lens.corners import Corners
from aligncheck.lens.sensor import sensor_size, to_sensor
from aligncheck.lens.sheet_sides import find_sheet_sides
from aligncheck.lens.solve import solve
from aligncheck.lens.views import View, find_board
from aligncheck.photo import Camera, Photo

Floats = NDArray[np.float64]

#: Focal length as a share of the long side where a photo does not state it: 28 mm, the commonest phone lens.
USUAL_FOCAL = 0.8


@dataclass(frozen=True)
class BoardPhoto:
    """What one photo shows of a board, in the sensor's frame."""

    name: str
    sha256: str | None
    taken: str | None
    camera: Camera
    size_px: tuple[int, int]
    focal_px: float | None
    kind: str
    corners: Corners
    sides: tuple[Floats, ...]

    @property
    def source(self) -> tuple[object, ...]:
        """What photos must share to be of one lens: camera, zoom, picture size."""
        c = self.camera
        return (c.make, c.model, c.f35_mm, *self.size_px)

    @property
    def source_text(self) -> str:
        """The same for people."""
        zoom = f" at {self.camera.f35_mm:g} mm" if self.camera.f35_mm else ""
        return f"{self.camera.model or 'unknown camera'}{zoom}, {self.size_px[0]} x {self.size_px[1]} px"


def look_at_board(photo: Photo, squares: tuple[int, int] | None = None) -> BoardPhoto:
    """Find the board and its sheet's sides in `photo`.

    Raises
    ------
    InputError
        "board_not_found" or "board_too_small".
    """
    view = find_board(photo, squares)
    sides = find_sheet_sides(photo, view, _rough_lens(photo, view))

    def turned(pixels: Floats) -> Floats:
        return to_sensor(pixels, photo.orientation, photo.width_px, photo.height_px)

    return BoardPhoto(
        name=photo.path.name if photo.path else "photo",
        sha256=photo.sha256,
        taken=photo.taken,
        camera=photo.camera,
        size_px=sensor_size(photo.orientation, photo.width_px, photo.height_px),
        focal_px=photo.focal_px_by_camera,
        kind=view.kind,
        corners=Corners(view.points, turned(view.pixels), square=view.extent[1, 0] == view.extent[1, 1]),
        sides=tuple(turned(s.pixels) for s in sides),
    )


def _rough_lens(photo: Photo, view: View) -> Lens:
    """A lens good enough to look for the sheet's sides: this one view's own bend, camera's focal length."""
    size = (photo.width_px, photo.height_px)
    focal = photo.focal_px_by_camera or USUAL_FOCAL * max(size)
    one = solve([Corners(view.points, view.pixels)], size, ("k1",), focal)
    # One view seldom tells more than the sign; an absurd bend is noise.
    k1 = float(np.clip(one.values[3], -0.4, 0.2))
    return Lens(focal, one.values[1], one.values[2], k1)


def of_one_camera(boards: Sequence[BoardPhoto]) -> tuple[list[BoardPhoto], list[tuple[str, InputError]]]:
    """The photos of the camera, zoom and size that most share; the others with the reason."""
    if not boards:
        return [], []
    most = Counter(b.source for b in boards).most_common(1)[0][0]
    kept = [b for b in boards if b.source == most]
    others = [
        (b.name, InputError("board_other_camera", photo=b.source_text, most=kept[0].source_text))
        for b in boards
        if b.source != most
    ]
    return kept, others
