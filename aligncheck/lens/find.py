"""The profile that belongs to a photo, and the lens it gives for that photo's own size and turn."""

import os
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import AligncheckError, InputError
from aligncheck.lens.bend import Lens
from aligncheck.lens.profile import LensProfile, read_profile
from aligncheck.lens.sensor import sensor_map, sensor_size
from aligncheck.notes import Note
from aligncheck.photo import Camera, Photo

Floats = NDArray[np.float64]

#: What changes from one photo to the next on the same phone (focus, stabiliser), as standard deviations: focal length
#: and principal point as shares of the focal length, k1, k2. Phones keep neither (Jasinska et al., Sensors 23 (2023)
#: 728); the sizes are those of a focus pulled from far to 40 cm with a lens of 6 mm, and of a stabiliser's tremble.
DRIFT = (0.003, 0.002, 0.002, 0.001, 0.001)
#: Two 35 mm figures are the same zoom within this share: phones round them to whole millimetres.
SAME_ZOOM = 0.04
#: Sides of pictures of one shape agree within so many pixels after scaling: sizes are cut to multiples of 8 or 16.
SAME_SHAPE_PX = 17.0


def user_folder() -> Path:
    """Where this user's profiles lie, by the custom of the system."""
    if sys.platform == "win32":
        base = Path(os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "aligncheck" / "lenses"


def example_folder() -> Path:
    """The examples beside the source tree; an installed package has none."""
    return Path(__file__).parents[2] / "calibration"


def find_lens(
    photo: Photo, file: Path | None = None, folders: Iterable[Path] | None = None
) -> tuple[Lens | None, tuple[Note, ...]]:
    """The lens that a profile gives for `photo`, and remarks on profiles that were passed over.

    Parameters
    ----------
    photo : Photo
    file : Path, optional
        A profile that the painter names: it must fit. Without it `folders` are searched for one of this camera.
    folders : iterable of Path, optional
        By default the user's folder, then the examples.

    Raises
    ------
    InputError
        If the named profile cannot be read, is nonsense, or belongs to another camera, zoom or picture shape.
    """
    if file is not None:
        profile = read_profile(file)
        reason = misfit(profile, photo)
        if reason is not None:
            raise InputError(reason.code, **reason.values)
        return lens_for(profile, photo), ()
    passed_over: list[Note] = []
    for path in _profiles(folders if folders is not None else (user_folder(), example_folder())):
        try:
            profile = read_profile(path)
        except AligncheckError as error:
            # Other JSON files may lie there too; only a broken profile is worth a word.
            if error.code == "profile_nonsense":
                passed_over.append(Note(error.code, error.values))
            continue
        if not _same_camera(profile.camera, photo.camera):
            continue
        reason = misfit(profile, photo)
        if reason is None:
            return lens_for(profile, photo), ()
        passed_over.append(reason)
    return None, tuple(passed_over[:1])


def _profiles(folders: Iterable[Path]) -> list[Path]:
    """JSON files in the folders, the newest name last within each; folders that are not there are skipped."""
    found: list[Path] = []
    for folder in folders:
        try:
            found += sorted(folder.glob("*.json"))
        except OSError:
            continue
    return found


def _same_camera(one: Camera, other: Camera) -> bool:
    """True where both name the same model (and maker, where both say)."""
    if not one.model or not other.model or one.model.casefold() != other.model.casefold():
        return False
    return not (one.make and other.make) or one.make.casefold() == other.make.casefold()


def misfit(profile: LensProfile, photo: Photo) -> Note | None:
    """Why `profile` does not serve for `photo`, or None where it does."""
    file = profile.file
    mine, its = profile.camera, photo.camera
    if mine.model and its.model and not _same_camera(mine, its):
        return Note("profile_other_camera", {"file": file, "profile": mine.model, "photo": its.model})
    if mine.lens and its.lens and mine.lens != its.lens and not (mine.f35_mm and its.f35_mm):
        return Note("profile_other_camera", {"file": file, "profile": mine.lens, "photo": its.lens})
    if mine.f35_mm and its.f35_mm and abs(mine.f35_mm / its.f35_mm - 1) > SAME_ZOOM:
        return Note(
            "profile_other_zoom", {"file": file, "profile_mm": f"{mine.f35_mm:g}", "photo_mm": f"{its.f35_mm:g}"}
        )
    long_side, short_side = sorted((photo.width_px, photo.height_px), reverse=True)
    wide, narrow = sorted((profile.width_px, profile.height_px), reverse=True)
    if abs(short_side - narrow * long_side / wide) > max(SAME_SHAPE_PX * long_side / wide, 1.5):
        shapes = {
            "profile": f"{profile.width_px} x {profile.height_px}",
            "photo": f"{photo.width_px} x {photo.height_px}",
        }
        return Note("profile_other_shape", {"file": file, **shapes})
    return None


def lens_for(profile: LensProfile, photo: Photo) -> Lens:
    """The profile's lens in the pixels of the upright `photo`, with what changes from photo to photo added."""
    width, height = sensor_size(photo.orientation, photo.width_px, photo.height_px)
    turned = (width > height) != (profile.width_px > profile.height_px)
    scale = max(width, height) / max(profile.width_px, profile.height_px)
    # Pixel centres are whole numbers, so half a pixel belongs to the scale.
    centre = np.array([profile.cx_px, profile.cy_px]) + 0.5
    middle = np.array([profile.width_px, profile.height_px]) / 2
    sides = np.diag([scale, scale, scale, 1.0, 1.0])
    covariance = sides @ profile.covariance @ sides
    shift = (centre - middle) * scale
    if turned:
        # The pixels were turned by a quarter and the file does not say which way: the principal point is known only
        # as far as both ways agree, in the middle.
        covariance[1:3, 1:3] += np.eye(2) * (shift @ shift) / 2
        shift = np.zeros(2)
    focal = profile.focal_px * scale
    point = np.array([width, height]) / 2 + shift - 0.5
    a, b = sensor_map(photo.orientation, photo.width_px, photo.height_px)
    turn = np.eye(5)
    turn[1:3, 1:3] = a.T
    covariance = turn @ covariance @ turn.T
    covariance += np.diag((np.array(DRIFT) * [focal, focal, focal, 1, 1]) ** 2)
    x, y = a.T @ (point - b)
    return Lens(focal, float(x), float(y), profile.k1, profile.k2, "profile", covariance)
