"""Photos as phones make them: every kind, turned, tinted, deep and broken."""

import io
import os
import struct
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps

from aligncheck.errors import PhotoError
from aligncheck.photo import read as read_module
from aligncheck.photo import read_photo


def scene(width: int = 96, height: int = 64) -> np.ndarray:
    """A smooth picture without any symmetry, wider than high."""
    y, x = np.mgrid[:height, :width]
    return np.stack([x * 255 // (width - 1), y * 255 // (height - 1), (x + 2 * y) % 200], -1).astype(np.uint8)


def save(path: Path, image: Image.Image, **options: object) -> Path:
    image.save(path, **options)
    return path


def with_exif(**tags: object) -> Image.Exif:
    exif = Image.Exif()
    names = {"make": 0x010F, "model": 0x0110, "orientation": 0x0112, "changed": 0x0132}
    block = exif.get_ifd(0x8769)
    inner = {"taken": 0x9003, "offset": 0x9011, "f35": 0xA405, "lens": 0xA434}
    for name, value in tags.items():
        if name in names:
            exif[names[name]] = value
        else:
            block[inner[name]] = value
    return exif


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "HEIF", "AVIF"])
def test_every_kind_is_read_whatever_the_name_says(tmp_path: Path, kind: str) -> None:
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    path = tmp_path / "photo.txt"
    Image.fromarray(scene()).save(path, format=kind, quality=95)
    photo = read_photo(path)
    assert photo.rgb.shape == (64, 96, 3)
    # Lossy kinds at high quality stay within a few codes in the mean.
    assert np.abs(photo.rgb.astype(int) - scene()).mean() < 4


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["png", "jpg"])
def test_orientation_is_undone_as_pillow_undoes_it(tmp_path: Path, orientation: int, kind: str) -> None:
    path = save(tmp_path / f"p.{kind}", Image.fromarray(scene()), exif=with_exif(orientation=orientation), quality=100)
    with Image.open(path) as image:
        expected = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    photo = read_photo(path)
    assert photo.orientation == orientation
    assert photo.rgb.flags.c_contiguous
    np.testing.assert_allclose(photo.rgb.astype(int), expected.astype(int), atol=1)


@pytest.mark.parametrize("orientation", [0, 9, 4242])
def test_invalid_orientation_is_ignored(tmp_path: Path, orientation: int) -> None:
    path = save(tmp_path / "p.png", Image.fromarray(scene()), exif=with_exif(orientation=orientation))
    assert read_photo(path).orientation is None
    np.testing.assert_array_equal(read_photo(path).rgb, scene())


def test_camera_and_date_are_taken_from_exif(tmp_path: Path) -> None:
    exif = with_exif(make="Maker\0", model=" Phone 3 ", taken="2026:05:23 15:03:10", offset="+02:00", f35=26)
    photo = read_photo(save(tmp_path / "p.jpg", Image.fromarray(scene()), exif=exif))
    assert (photo.camera.make, photo.camera.model, photo.camera.f35_mm) == ("Maker", "Phone 3", 26)
    assert photo.taken == "2026-05-23T15:03:10+02:00"
    # 26 mm on a 43.27 mm diagonal, here on one of 115.4 px.
    assert photo.focal_px_by_camera == pytest.approx(26 / 43.2666 * 115.378, rel=1e-4)


@pytest.mark.parametrize(
    ("tags", "taken"),
    [
        ({"taken": "0000:00:00 00:00:00"}, None),
        ({"taken": "yesterday", "changed": "2025:01:02 03:04:05"}, "2025-01-02T03:04:05"),
        ({"taken": "2025:01:02 03:04:05", "offset": "what"}, "2025-01-02T03:04:05"),
        ({}, None),
    ],
)
def test_odd_dates_are_not_believed(tmp_path: Path, tags: dict, taken: str | None) -> None:
    assert read_photo(save(tmp_path / "p.jpg", Image.fromarray(scene()), exif=with_exif(**tags))).taken == taken


def test_unknown_focal_length_is_none_not_zero(tmp_path: Path) -> None:
    assert read_photo(save(tmp_path / "p.jpg", Image.fromarray(scene()), exif=with_exif(f35=0))).camera.f35_mm is None


@pytest.mark.parametrize("mode", ["L", "1", "P", "CMYK", "LA", "RGBA"])
def test_other_colour_modes_become_rgb(tmp_path: Path, mode: str) -> None:
    image = Image.fromarray(scene()).convert(mode)
    path = save(tmp_path / "p.tif", image)
    expected = np.asarray(image.convert("RGB")).astype(int)
    assert np.abs(read_photo(path).rgb.astype(int) - expected).max() <= 1


def test_alpha_is_laid_on_white(tmp_path: Path) -> None:
    rgba = np.dstack([scene(), np.full((64, 96), 255, np.uint8)])
    rgba[:, :48, 3] = 0
    photo = read_photo(save(tmp_path / "p.png", Image.fromarray(rgba)))
    assert (photo.rgb[:, :48] == 255).all()
    np.testing.assert_array_equal(photo.rgb[:, 48:], scene()[:, 48:])


def test_16_bit_grey_keeps_its_brightness(tmp_path: Path) -> None:
    grey = np.linspace(0, 65535, 64 * 96).reshape(64, 96).astype(np.uint16)
    photo = read_photo(save(tmp_path / "p.png", Image.fromarray(grey)))
    assert np.abs(photo.rgb[..., 0] - grey / 257.0).max() <= 1


def test_16_bit_rgb_keeps_its_brightness(tmp_path: Path) -> None:
    import cv2

    cv2.imwrite(str(tmp_path / "p.png"), scene()[..., ::-1].astype(np.uint16) * 257)
    assert np.abs(read_photo(tmp_path / "p.png").rgb.astype(int) - scene()).max() <= 1


def wide_gamut_profile() -> bytes:
    """An RGB profile with Display P3's primaries (SMPTE EG 432-1 under D50) on sRGB's curve."""
    base = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    colorants = {
        b"rXYZ": (0.51512, 0.2412, -0.00105),
        b"gXYZ": (0.29198, 0.69225, 0.04189),
        b"bXYZ": (0.1571, 0.06657, 0.78407),
    }
    count = struct.unpack_from(">I", base, 128)[0]
    for at in range(132, 132 + 12 * count, 12):
        if (name := bytes(base[at : at + 4])) in colorants:
            struct.pack_into(
                ">3i", base, struct.unpack_from(">I", base, at + 4)[0] + 8, *(round(v * 65536) for v in colorants[name])
            )
    return bytes(base)


@pytest.mark.parametrize("kind", ["jpg", "png"])
def test_wide_gamut_becomes_srgb(tmp_path: Path, kind: str) -> None:
    """P3's (200, 120, 80) is sRGB's (213, 117, 71), by the two colour spaces' matrices; the profile decides."""
    image = Image.new("RGB", (64, 64), (200, 120, 80))
    tinted = read_photo(save(tmp_path / f"p.{kind}", image, icc_profile=wide_gamut_profile(), quality=100))
    np.testing.assert_allclose(tinted.rgb[32, 32], (213, 117, 71), atol=2)
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain = read_photo(save(tmp_path / f"q.{kind}", image, icc_profile=srgb, quality=100))
    np.testing.assert_allclose(plain.rgb[32, 32], (200, 120, 80), atol=1)


def test_broken_profile_is_passed_over(tmp_path: Path) -> None:
    photo = read_photo(save(tmp_path / "p.png", Image.fromarray(scene()), icc_profile=b"\0" * 200))
    np.testing.assert_array_equal(photo.rgb, scene())


@pytest.mark.parametrize(("kind", "how"), [("MPO", {"quality": 95}), ("TIFF", {}), ("WEBP", {"quality": 95})])
def test_first_of_several_pictures_is_read(tmp_path: Path, kind: str, how: dict) -> None:
    second = Image.new("RGB", (96, 64), "white")
    Image.fromarray(scene()).save(tmp_path / "p", format=kind, save_all=True, append_images=[second], **how)
    assert np.abs(read_photo(tmp_path / "p").rgb.astype(int) - scene()).mean() < 4


def test_heif_is_not_turned_twice(tmp_path: Path) -> None:
    """The format's own box turns the picture; the EXIF tag beside it says how the phone was held, no more."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    path = save(tmp_path / "p.heic", Image.fromarray(scene()), exif=with_exif(orientation=6, f35=26), quality=95)
    photo = read_photo(path)
    assert (photo.width_px, photo.height_px, photo.orientation, photo.camera.f35_mm) == (96, 64, 6, 26)


def test_hash_is_that_of_the_file(tmp_path: Path) -> None:
    import hashlib

    path = save(tmp_path / "p.jpg", Image.fromarray(scene()))
    assert read_photo(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def refused(path: Path) -> PhotoError:
    with pytest.raises(PhotoError) as caught:
        read_photo(path)
    assert "?" not in str(caught.value), "a value is missing from the sentence"
    return caught.value


def test_what_is_no_photo_is_refused_by_its_cause(tmp_path: Path) -> None:
    assert refused(tmp_path / "missing.jpg").code == "file_missing"
    assert refused(tmp_path).code == "file_is_folder"
    (tmp_path / "empty.jpg").touch()
    assert refused(tmp_path / "empty.jpg").code == "file_empty"
    (tmp_path / "letter.jpg").write_text("Dear photo")
    assert refused(tmp_path / "letter.jpg").code == "not_a_picture"
    assert refused(Path("/dev/zero")).code == "not_a_picture"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "HEIF"])
def test_truncated_photo_is_refused(tmp_path: Path, kind: str, capfd: pytest.CaptureFixture[str]) -> None:
    noise = np.random.default_rng(5).integers(0, 255, (300, 400, 3), np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(noise).save(buffer, format=kind)
    (tmp_path / "cut").write_bytes(buffer.getvalue()[: len(buffer.getvalue()) * 6 // 10])
    assert refused(tmp_path / "cut").code == "picture_damaged"
    assert capfd.readouterr() == ("", "")


def test_jpeg_that_lost_its_last_bytes_is_not_filled_up_with_grey(tmp_path: Path) -> None:
    """Its thumbnail's own end must not pass for the picture's."""
    noise = np.random.default_rng(5).integers(0, 255, (300, 400, 3), np.uint8)
    small, exif = io.BytesIO(), with_exif(make="Maker")
    Image.fromarray(scene()).save(small, format="JPEG")
    exif[0x927C] = small.getvalue()
    whole = save(tmp_path / "whole.jpg", Image.fromarray(noise), exif=exif).read_bytes()
    assert whole.count(b"\xff\xd9") == 2
    assert read_photo(tmp_path / "whole.jpg").rgb.shape == noise.shape
    (tmp_path / "cut.jpg").write_bytes(whole[:-900])
    assert refused(tmp_path / "cut.jpg").code == "picture_damaged"


@pytest.mark.parametrize("name", ["plain.jpg", "grün.jpg", "bad\udcff.jpg"])
def test_a_file_gives_the_pixels_that_its_bytes_give(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(save(tmp_path / "saved.jpg", Image.fromarray(scene())).read_bytes())
    assert np.array_equal(read_photo(path).rgb, read_module.decode_photo(path.read_bytes()).rgb)


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = save(tmp_path / "p.jpg", Image.fromarray(scene()))

    def denied(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", denied)
    assert refused(path).code == "file_no_permission"


def test_bomb_is_refused_from_its_header(tmp_path: Path) -> None:
    """A PNG that claims 30000 x 30000 pixels in a few bytes must not be unpacked."""
    import zlib

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    for side in (12_000, 30_000):
        header = chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0))
        (tmp_path / "bomb.png").write_bytes(
            b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")
        )
        assert refused(tmp_path / "bomb.png").code == "too_many_pixels"


def test_limit_is_on_pixels_not_on_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = save(tmp_path / "p.jpg", Image.fromarray(scene()))
    monkeypatch.setattr(read_module, "MAX_PIXELS", 96 * 64 - 1)
    assert refused(path).code == "too_many_pixels"
    monkeypatch.setattr(read_module, "MAX_PIXELS", 96 * 64)
    assert read_photo(path).width_px == 96


@pytest.mark.parametrize("name", ["p.jpg", "ü.jpg"], ids=["from its file", "from memory"])
def test_a_jpeg_damaged_in_its_middle_is_refused_and_nothing_else_is_said(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], name: str
) -> None:
    """The decoder goes on after a broken code and shows a picture that nobody took."""
    path = save(tmp_path / name, Image.fromarray(np.random.default_rng(1).integers(0, 256, (64, 96, 3), np.uint8)))
    whole = path.read_bytes()
    middle = (whole.rfind(b"\xff\xda") + len(whole)) // 2
    # A marker that has no place there.
    path.write_bytes(whole[:middle] + b"\xff\xd9" + whole[middle + 2 :])
    with pytest.raises(PhotoError) as caught:
        read_photo(path)
    assert caught.value.code == "picture_damaged"
    assert capfd.readouterr().err == ""


def test_stray_bytes_at_a_jpegs_end_do_no_harm(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Some phones write them; the picture is whole, and what others say meanwhile is not lost."""
    path = save(tmp_path / "p.jpg", Image.fromarray(scene()), quality=95)
    whole = path.read_bytes()
    path.write_bytes(whole[:-2] + b"\0\0\0" + whole[-2:])
    assert np.abs(read_photo(path).rgb.astype(int) - scene()).mean() < 4
    assert capfd.readouterr().err == ""
    from aligncheck.photo.complaints import decoded

    assert decoded(lambda: os.write(2, b"another thread\n")) == (15, False)
    assert capfd.readouterr().err == "another thread\n"
