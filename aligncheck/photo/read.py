"""From a file to a Photo: any kind that phones write, upright, in sRGB, decoded once."""

import hashlib
import io
import re
import warnings
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import PhotoError
from aligncheck.photo.camera import read_camera, read_orientation, read_taken
from aligncheck.photo.colour import array_to_srgb, image_to_srgb
from aligncheck.photo.complaints import decoded
from aligncheck.photo.kind import readers_for
from aligncheck.photo.photo import Photo
from aligncheck.photo.upright import upright

Bytes = NDArray[np.uint8]

#: Above the 108 megapixels of today's largest common phone sensors; decoded, that is a third of a gigabyte.
MAX_PIXELS = 120_000_000
#: No compressed photo within that limit is larger; a 16-bit TIFF of it is 720 MB.
MAX_BYTES = 800_000_000


def read_photo(path: str | Path) -> Photo:
    """Read one photo: JPEG, PNG, HEIC/HEIF, TIFF, WebP or AVIF, whatever its name ends in; the first picture of many.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Photo
        Upright (EXIF orientation undone), 8-bit sRGB, with date and camera where the file states them.

    Raises
    ------
    PhotoError
        ``file_missing``, ``file_is_folder``, ``file_no_permission``, ``file_unreadable``, ``file_empty``,
        ``not_a_picture``, ``picture_damaged``, or ``too_many_pixels``, which is told from the header, before any
        memory is spent.
    """
    path = Path(path)
    data = read_bytes(path)
    try:
        with warnings.catch_warnings():
            # Pillow warns of odd metadata and large pictures; neither is the painter's concern, and we have our limit.
            warnings.simplefilter("ignore")
            return decode_photo(data, path, path)
    except PhotoError as error:
        error.values.setdefault("file", path.name)
        raise


def read_bytes(path: Path) -> bytes:
    """The whole file, or a PhotoError that says why not."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise PhotoError("file_is_folder", file=name)
        # A pipe or a device may never end.
        if path.exists() and not path.is_file():
            raise PhotoError("not_a_picture", file=name)
        if path.stat().st_size > MAX_BYTES:
            raise PhotoError("file_too_large", file=name, limit=MAX_BYTES // 1_000_000)
        data = path.read_bytes()
    except FileNotFoundError:
        raise PhotoError("file_missing", file=name) from None
    except PermissionError:
        raise PhotoError("file_no_permission", file=name) from None
    except (OSError, ValueError) as error:
        raise PhotoError("file_unreadable", file=name, reason=getattr(error, "strerror", None) or error) from None
    if not data:
        raise PhotoError("file_empty", file=name)
    return data


def decode_photo(data: bytes, path: Path | None = None, file: Path | None = None) -> Photo:
    """The photo in a file's bytes; `path` is only noted, `file` holds the same bytes."""
    readers = readers_for(data)
    try:
        image = _open(data, readers)
        if image.width * image.height > MAX_PIXELS:
            raise _too_many(image.width * image.height)
        plain_jpeg = "JPEG" in readers and image.mode in ("RGB", "L")
        pixels = _decode_jpeg(data, image.info.get("icc_profile"), file) if plain_jpeg else None
        if pixels is None or pixels.shape[:2] != (image.height, image.width):
            image.load()
            pixels = image_to_srgb(image)
        exif = _exif(image)
    except PhotoError:
        raise
    # Pillow's readers raise whatever their parsing stumbles over: a damaged file may show as any error at all.
    except MemoryError:
        raise PhotoError("out_of_memory") from None
    except Exception as error:
        raise PhotoError("picture_damaged", reason=str(error)) from error
    # HEIF turns its pictures by a box of its own, which its reader has obeyed; the EXIF tag only repeats it.
    turned = image.info.get("original_orientation") if "HEIF" in readers else None
    orientation = turned or read_orientation(exif)
    return Photo(
        rgb=np.ascontiguousarray(pixels if "HEIF" in readers else upright(pixels, orientation)),
        path=path,
        sha256=hashlib.sha256(data).hexdigest(),
        taken=read_taken(exif),
        camera=read_camera(exif),
        orientation=orientation,
    )


def _too_many(pixels: int) -> PhotoError:
    return PhotoError("too_many_pixels", megapixels=round(pixels / 1e6), limit=MAX_PIXELS // 1_000_000)


def _open(data: bytes, readers: tuple[str, ...]) -> Any:
    """Pillow's image of `data`, header read, pixels not yet."""
    from PIL import Image

    if "JPEG" in readers:
        from PIL.JpegImagePlugin import JpegImageFile

        # Image.open would load the readers of all other kinds first.
        return JpegImageFile(io.BytesIO(data))
    if readers == ("HEIF",):
        import pillow_heif

        pillow_heif.register_heif_opener()
    try:
        return Image.open(io.BytesIO(data), formats=readers)
    except Image.DecompressionBombError as error:
        # Its sentence begins with their number.
        raise _too_many(int(next(iter(re.findall(r"\d+", str(error))), MAX_PIXELS))) from None


def _decode_jpeg(data: bytes, profile: bytes | None, file: Path | None) -> Bytes | None:
    """An 8-bit RGB or grey JPEG by OpenCV: the same decoder library as Pillow's, without its four-byte pixels.

    From a file OpenCV decodes into an array of NumPy's; from memory it copies the picture into one, which takes half as
    long again. But a file that ends too soon it fills up with grey, unsaid, and not every name is one to it.
    """
    flags = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
    try:
        if file is not None and str(file).isascii() and _is_whole(data):
            pixels, damaged = decoded(lambda: cv2.imread(str(file), None, flags))
        else:
            pixels, damaged = decoded(lambda: cv2.imdecode(np.frombuffer(data, np.uint8), flags))
    except cv2.error:
        return None
    if damaged:
        raise PhotoError("picture_damaged")
    return None if pixels is None else array_to_srgb(np.asarray(pixels, np.uint8), profile)


def _is_whole(data: bytes) -> bool:
    """Whether an end-of-image marker follows the last start of a scan; within a scan's own bytes neither occurs."""
    end = data.rfind(b"\xff\xd9")
    # The last scan lies far before the end: sought backward, it would be found only after all of its bytes.
    return 0 <= data.find(b"\xff\xda") < end and data.find(b"\xff\xda", end) < 0


def _exif(image: Any) -> Any:
    """The EXIF mapping; an empty one where the block is broken, since a photo without it can still be measured."""
    from PIL import Image

    try:
        exif = image.getexif()
        exif.get_ifd(0x8769)
    except Exception:
        return Image.Exif()
    return exif
