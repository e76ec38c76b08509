"""From whatever colours a file holds to sRGB codes, 8 bits, three channels."""

import io
import struct
from typing import Any

import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]

#: Colorants of sRGB in an ICC profile: X, Y, Z under D50 of red, green and blue (ICC.1, annex on sRGB).
SRGB_COLORANTS = {
    b"rXYZ": (0.4361, 0.2225, 0.0139),
    b"gXYZ": (0.3851, 0.7169, 0.0971),
    b"bXYZ": (0.1431, 0.0606, 0.7139),
}

#: Writers of sRGB profiles round differently; the nearest wide gamut is 0.05 away.
COLORANT_TOLERANCE = 0.004

#: Rows handled at a time, so that no second full picture is held in memory.
STRIP = 256


def is_srgb(profile: bytes) -> bool:
    """Whether an ICC profile's red, green and blue are those of sRGB, so that nothing need be converted."""
    try:
        (count,) = struct.unpack_from(">I", profile, 128)
        tags = {
            profile[at : at + 4]: struct.unpack_from(">I", profile, at + 4)[0]
            for at in range(132, 132 + 12 * min(count, 100), 12)
        }
        found = [np.array(struct.unpack_from(">3i", profile, tags[name] + 8)) / 65536 for name in SRGB_COLORANTS]
    except (struct.error, KeyError):
        return False
    return bool(np.abs(np.array(found) - list(SRGB_COLORANTS.values())).max() < COLORANT_TOLERANCE)


def profile_to_srgb(profile: bytes, mode: str) -> Any | None:
    """A transform from `profile` (pictures of Pillow's `mode`) to sRGB; None where the profile cannot be used."""
    from PIL import ImageCms

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), mode, "RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        return None


def array_to_srgb(pixels: Bytes, profile: bytes | None) -> Bytes:
    """RGB codes (h, w, 3) under an ICC `profile` to sRGB, strip by strip, in place."""
    if not profile or is_srgb(profile) or profile[16:20] != b"RGB ":
        return pixels
    from PIL import Image

    transform = profile_to_srgb(profile, "RGB")
    if transform is None:
        return pixels
    for top in range(0, len(pixels), STRIP):
        strip = Image.fromarray(pixels[top : top + STRIP])
        pixels[top : top + STRIP] = np.asarray(transform.apply(strip))
    return pixels


def _to_8_bit(image: Any) -> Any:
    """Grey with 16 bits or more, whole or floating, as 8 bits."""
    from PIL import Image

    values = np.asarray(image)
    # Floating pictures run from 0 to 1 by custom; whole ones use 8 or 16 bits of their 32.
    top = float(values.max(initial=0))
    full = (
        1.0 if values.dtype.kind == "f" and top <= 1 else 255.0 if values.dtype != np.uint16 and top <= 255 else 65535.0
    )
    return Image.fromarray(np.clip(np.nan_to_num(values) * (255.0 / full) + 0.5, 0, 255).astype(np.uint8))


def image_to_srgb(image: Any) -> Bytes:
    """A loaded Pillow `image` of any mode to sRGB codes (h, w, 3): grey, 16-bit, palette, CMYK, Lab, alpha on white."""
    from PIL import Image

    profile = image.info.get("icc_profile")
    if image.mode.startswith("I") or image.mode == "F":
        image = _to_8_bit(image)
    if image.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in image.info:
        image = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", image.size, "white"), image)
    if image.mode in ("CMYK", "LAB") and profile:
        transform = profile_to_srgb(profile, image.mode)
        if transform is not None:
            return np.array(transform.apply(image))
    if image.mode != "RGB":
        image = image.convert("RGB")
    return array_to_srgb(_unpacked(image), profile)


def _unpacked(image: Any) -> Bytes:
    """Pixels of an RGB `image` as an array of our own; by strips, because Pillow would hold the picture three times."""
    width, height = image.size
    pixels = np.empty((height, width, 3), np.uint8)
    for top in range(0, height, STRIP):
        bottom = min(top + STRIP, height)
        pixels[top:bottom] = np.asarray(image.crop((0, top, width, bottom)))
    return pixels
