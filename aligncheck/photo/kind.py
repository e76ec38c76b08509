"""What kind of picture a file holds, told by its first bytes and never by its name."""

from aligncheck.errors import PhotoError

#: Brands of the ISO media container that hold a still picture in HEIF's way (ISO/IEC 23008-12).
HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"heif"}

#: First bytes of the other kinds, with Pillow's names for the readers that may open them.
SIGNATURES: dict[bytes, tuple[str, ...]] = {
    b"\xff\xd8\xff": ("JPEG", "MPO"),
    b"\x89PNG\r\n\x1a\n": ("PNG",),
    b"II*\x00": ("TIFF",),
    b"MM\x00*": ("TIFF",),
    b"II+\x00": ("TIFF",),
    b"MM\x00+": ("TIFF",),
}


def readers_for(data: bytes) -> tuple[str, ...]:
    """Pillow's readers for a file that begins with `data`.

    Raises
    ------
    PhotoError
        ``not_a_picture`` where the bytes are of no kind that phones, cameras and editors write.
    """
    for signature, readers in SIGNATURES.items():
        if data.startswith(signature):
            return readers
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return ("WEBP",)
    if data[4:8] == b"ftyp":
        length = min(max(int.from_bytes(data[:4], "big"), 16), 256)
        # The major brand, then (after a version) the compatible ones; phones use either to say HEIF or AVIF.
        brands = {data[8:12]} | {data[at : at + 4] for at in range(16, length, 4)}
        if brands & {b"avif", b"avis"}:
            return ("AVIF",)
        if brands & HEIF_BRANDS:
            return ("HEIF",)
    raise PhotoError("not_a_picture")
