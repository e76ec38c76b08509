"""A picture with its truth, and how it is written: JPEG with EXIF as phones do, the truth as JSON beside it."""

import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image as Pictures

from tests.render.scene import Finish

#: How the upright picture is turned before it is stored under each EXIF orientation (the inverse of the tag).
_STORED = {
    2: Pictures.Transpose.FLIP_LEFT_RIGHT,
    3: Pictures.Transpose.ROTATE_180,
    4: Pictures.Transpose.FLIP_TOP_BOTTOM,
    5: Pictures.Transpose.TRANSPOSE,
    6: Pictures.Transpose.ROTATE_90,
    7: Pictures.Transpose.TRANSVERSE,
    8: Pictures.Transpose.ROTATE_270,
}


@dataclass(frozen=True)
class Rendered:
    """`pixels`: the upright picture (h, w, 3), sRGB codes; `truth`: what the truth file holds."""

    pixels: NDArray[np.uint8]
    truth: dict[str, Any]
    finish: Finish

    def jpeg(self) -> bytes:
        """The file's bytes."""
        picture = Pictures.fromarray(self.pixels)
        if self.finish.orientation in _STORED:
            picture = picture.transpose(_STORED[self.finish.orientation])
        buffer = io.BytesIO()
        picture.save(buffer, "JPEG", quality=self.finish.jpeg_quality, subsampling=2, exif=self._exif())
        return buffer.getvalue()

    def save(self, path: Path) -> Path:
        """Write `path` and the truth beside it; returns `path`."""
        path.write_bytes(self.jpeg())
        path.with_suffix(".json").write_text(json.dumps({"photo": path.name, **self.truth}, indent=1) + "\n")
        return path

    def _exif(self) -> Pictures.Exif:
        exif = Pictures.Exif()
        exif[0x0112] = self.finish.orientation
        if self.finish.make is not None:
            exif[0x010F] = self.finish.make
        if self.finish.model is not None:
            exif[0x0110] = self.finish.model
        moment = self.finish.taken.replace("-", ":").replace("T", " ")
        exif[0x0132] = moment
        details: dict[int, Any] = {0x9003: moment}
        if self.finish.f35_in_exif:
            details[0xA405] = round(self.finish.f35_mm or self.truth["camera"]["f35_mm"])
        exif._ifds[0x8769] = details
        return exif
