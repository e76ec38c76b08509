import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aligncheck.errors import InputError
from aligncheck.lens.find import find_lens, lens_for, user_folder
from aligncheck.lens.profile import LensProfile, profile_json, read_profile
from aligncheck.lens.sensor import to_upright
from aligncheck.photo import Camera, Photo

COVARIANCE = np.diag([2.0, 1.0, 1.5, 1e-3, 2e-3]) ** 2
PHONE = Camera("Testmaker", "T1", None, 26.0)
PROFILE = LensProfile.of((4032, 3024), np.array([3050.0, 2031.0, 1502.0, 0.03, -0.01]), COVARIANCE, PHONE)


def photo(width: int = 4032, height: int = 3024, camera: Camera = PHONE, orientation: int | None = 1) -> Photo:
    return Photo(np.broadcast_to(np.uint8(0), (height, width, 3)), camera=camera, orientation=orientation)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "t1.json"
    path.write_text(profile_json(PROFILE))
    return path


def test_round_trip(file: Path) -> None:
    """What is written is read again, and a person can read it: one line a number, the fixed keys in it."""
    again = read_profile(file)
    assert again == LensProfile(4032, 3024, 3050.0, 2031.0, 1502.0, 0.03, -0.01, COVARIANCE, PHONE, file="t1.json")
    assert np.allclose(again.covariance, COVARIANCE)
    content = json.loads(file.read_text())
    assert {"width_px", "height_px", "focal_px", "cx_px", "cy_px", "k1", "k2"} <= content.keys()
    assert content["focal_u95_px"] == pytest.approx(1.96 * 2.0)
    assert len(file.read_text().splitlines()) < 40


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("focal_px", 30.0),
        ("focal_px", "3050"),
        ("focal_px", None),
        ("focal_px", True),
        ("cx_px", 12.0),
        ("cy_px", 2900.0),
        ("k1", -3.0),
        ("k1", float("nan")),
        ("k2", 9.0),
        ("width_px", -4032),
        ("height_px", 1e9),
        ("covariance", [[1, 2], [3, 4]]),
        ("covariance", "none"),
        ("covariance", (-COVARIANCE).tolist()),
        ("covariance", (10**400 * np.eye(5, dtype=object)).tolist()),
        ("covariance", (1e300 * COVARIANCE).tolist()),
        ("camera", "T1"),
        ("camera", {"f35_mm": 10**400}),
        ("camera", {"f35_mm": float("inf")}),
        ("camera", {"model": "T1\nT2"}),
        ("camera", {"model": "T" * 5000}),
    ],
)
def test_edited_into_nonsense(file: Path, key: str, value: Any) -> None:
    """A profile that no lens can have is refused, and the key is named."""
    content = json.loads(file.read_text())
    file.write_text(json.dumps(content | {key: value}))
    with pytest.raises(InputError, match=f"t1.json: {key}"):
        read_profile(file)


def test_bend_that_folds_the_picture(file: Path) -> None:
    """k1 and k2 that would fold the picture over itself are refused although each alone is thinkable."""
    content = json.loads(file.read_text())
    file.write_text(json.dumps(content | {"k1": -0.6, "k2": -0.4}))
    with pytest.raises(InputError, match="k1"):
        read_profile(file)


def test_any_slip_of_the_editor_is_told(file: Path) -> None:
    """Bytes lost, doubled or changed anywhere: a refusal in one line, or a lens that could be one."""
    rng, whole, told = np.random.default_rng(5), file.read_bytes(), 0
    for _ in range(400):
        slipped = bytearray(whole)
        for at in rng.integers(0, len(whole) - 30, rng.integers(1, 4)):
            slipped[at : at + rng.integers(0, 9)] = bytes(
                rng.choice(list(b'0123456789eE.-+,:[]{}"'), rng.integers(0, 4))
            )
        file.write_bytes(bytes(slipped))
        try:
            lens = lens_for(read_profile(file), photo())
        except InputError as error:
            told += 1
            assert len(str(error).splitlines()) == 1 and len(str(error)) < 200
        else:
            assert lens.covariance is not None and np.isfinite([lens.focal_px, lens.k1, lens.covariance[0, 0]]).all()
    assert told > 300


def test_an_editors_byte_order_mark_does_no_harm(file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes())
    assert read_profile(file).focal_px == 3050.0


@pytest.mark.parametrize("text", ["", "[1, 2]", "{", '{"focal_px": 3000}', "[" * 100_000])
def test_not_a_profile(tmp_path: Path, text: str) -> None:
    path = tmp_path / "x.json"
    path.write_text(text)
    with pytest.raises(InputError, match="is not a lens profile"):
        read_profile(path)


def test_missing_profile(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_profile(tmp_path / "nowhere.json")


def test_without_covariance_it_is_less_sure(file: Path) -> None:
    """Five numbers written by hand are a profile, with the uncertainty of a rough calibration."""
    content = json.loads(file.read_text())
    del content["covariance"]
    file.write_text(json.dumps(content))
    lens, _ = find_lens(photo(), file)
    assert lens is not None and lens.covariance is not None
    assert np.sqrt(lens.covariance[0, 0]) > 10


def test_scales_to_other_sizes() -> None:
    """Half the pixels, half the focal length; the principal point counts from the picture's corner, not its pixel."""
    lens = lens_for(PROFILE, photo(2016, 1512))
    assert lens.focal_px == pytest.approx(1525.0)
    assert (lens.cx_px, lens.cy_px) == pytest.approx((2031.5 / 2 - 0.5, 1502.5 / 2 - 0.5))
    assert (lens.k1, lens.k2, lens.source) == (0.03, -0.01, "profile")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turns_with_the_phone(orientation: int) -> None:
    """However the phone was held, the axis stands where the sensor has it."""
    turned = orientation >= 5
    width, height = (3024, 4032) if turned else (4032, 3024)
    lens = lens_for(PROFILE, photo(width, height, orientation=orientation))
    x, y = to_upright((2031.0, 1502.0), orientation, width, height)
    assert (lens.cx_px, lens.cy_px) == pytest.approx((x, y))
    assert lens.covariance is not None
    sd = np.sqrt(np.diag(lens.covariance))[1:3]
    # The less sure axis of the profile (cy) is x in a turned picture.
    assert (sd[0] > sd[1]) == turned


def test_turned_pixels_of_unknown_direction() -> None:
    """Where pixels were turned by a quarter and nothing says which way, the axis is in the middle and less sure."""
    lens = lens_for(PROFILE, photo(3024, 4032, orientation=None))
    assert (lens.cx_px, lens.cy_px) == pytest.approx((1511.5, 2015.5))
    assert lens.covariance is not None
    shift = np.hypot(2031.5 - 2016, 1502.5 - 1512)
    assert lens.covariance[1, 1] > shift**2 / 2


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (photo(camera=Camera("Testmaker", "T2", None, 26.0)), "is of a T1, this photo of a T2"),
        (photo(camera=Camera("Testmaker", "T1", None, 52.0)), "is for 26 mm, this photo was zoomed to 52 mm"),
        (photo(4032, 2268), "cropped otherwise"),
        (photo(3024, 3024), "cropped otherwise"),
    ],
)
def test_does_not_fit(file: Path, seen: Photo, words: str) -> None:
    """A named profile of another camera, zoom or crop is refused with the reason; one not named is passed over."""
    with pytest.raises(InputError, match=words):
        find_lens(seen, file)
    lens, notes = find_lens(seen, folders=[file.parent])
    assert lens is None
    other_camera = seen.camera.model != "T1"
    assert [words in n.text for n in notes] == ([] if other_camera else [True])


def test_found_by_itself(file: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The profile of the phone that took the photo is found in the user's folder; other files there do not matter."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    folder = user_folder()
    assert folder == tmp_path / "aligncheck" / "lenses"
    assert find_lens(photo(), folders=[folder]) == (None, ())
    folder.mkdir(parents=True)
    (folder / "a-shopping-list.json").write_text('["chalk"]')
    file.rename(folder / "t1.json")
    lens, notes = find_lens(photo(), folders=[folder])
    assert lens is not None and lens.focal_px == 3050.0 and notes == ()
    # A photo that does not say what took it gets none.
    assert find_lens(photo(camera=Camera()), folders=[folder])[0] is None
