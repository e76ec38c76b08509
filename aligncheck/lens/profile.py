"""A lens profile: what one phone's lens does, in its sensor's own frame, and its small readable JSON file."""

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.photo import Camera

Floats = NDArray[np.float64]

SCHEMA = "aligncheck-lens-1"
#: The five numbers of a lens, in the order of its covariance.
TERMS = ("focal_px", "cx_px", "cy_px", "k1", "k2")
#: What a profile without a covariance is good for, as standard deviations: focal length and principal point as shares
#: of the long side, k1, k2: a careful calibration with few photos.
UNSTATED = (0.005, 0.005, 0.005, 0.005, 0.01)
#: The longest side of a picture, px: nothing in a covariance is larger than its square.
LARGEST_PX = 100_000
#: Makers' names are shorter than this.
LONGEST_NAME = 100


@dataclass(frozen=True)
class LensProfile:
    """A lens as the sensor holds its picture: `width_px` x `height_px`, centre of the first pixel at (0, 0).

    `covariance` (5, 5) is that of `TERMS`. `details` is everything else that the file tells (how it was fitted).
    """

    width_px: int
    height_px: int
    focal_px: float
    cx_px: float
    cy_px: float
    k1: float
    k2: float
    covariance: Floats = field(compare=False, repr=False)
    camera: Camera = field(default_factory=Camera)
    details: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    file: str = ""

    @classmethod
    def of(cls, size_px: tuple[int, int], values: Floats, covariance: Floats, camera: Camera) -> "LensProfile":
        """The profile of the five `values` (5,)."""
        focal, cx, cy, k1, k2 = (float(v) for v in values)
        return cls(*size_px, focal, cx, cy, k1, k2, covariance, camera)

    @property
    def values(self) -> Floats:
        """The five numbers (5,), as `TERMS`."""
        return np.array([getattr(self, t) for t in TERMS], float)


def profile_json(profile: LensProfile) -> str:
    """The text of the profile's file."""
    sd = np.sqrt(np.diag(profile.covariance))
    camera = profile.camera
    content: dict[str, Any] = {
        "schema": SCHEMA,
        "camera": {"make": camera.make, "model": camera.model, "lens": camera.lens, "f35_mm": camera.f35_mm},
        "width_px": profile.width_px,
        "height_px": profile.height_px,
    }
    for term, value, one in zip(TERMS, profile.values, sd, strict=True):
        content[term] = _rounded(value)
        name, _, unit = term.partition("_")
        content[f"{name}_u95{'_' + unit if unit else ''}"] = _rounded(1.96 * one)
    content["covariance"] = [[_rounded(v) for v in row] for row in profile.covariance]
    content["covariance_of"] = list(TERMS)
    text = json.dumps(content | dict(profile.details), indent=1, ensure_ascii=False)
    # Lists and small objects without inner ones on one line each: a matrix reads as a matrix.
    return re.sub(r"(?<=[\[{])\s+([^][{}]*?)\s+(?=[\]}])", lambda m: re.sub(r"\s*\n\s*", " ", m[1]), text) + "\n"


def _rounded(value: float) -> float:
    """Seven digits: more than any lens keeps, and readable."""
    return float(f"{value:.7g}")


def read_profile(path: Path) -> LensProfile:
    """Read and check a profile's file.

    Raises
    ------
    InputError
        ``profile_unreadable``, ``profile_not_one`` or ``profile_nonsense`` with the key that is wrong.
    """
    try:
        # Some editors put a byte order mark in front.
        content = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError("profile_unreadable", file=path.name, reason=error.strerror or str(error)) from None
    except (ValueError, RecursionError):
        raise InputError("profile_not_one", file=path.name) from None
    if not isinstance(content, dict) or not {"width_px", "height_px", *TERMS} <= content.keys():
        raise InputError("profile_not_one", file=path.name)
    return _checked(content, path.name)


def _checked(content: dict[str, Any], file: str) -> LensProfile:
    """The profile in `content`, or an InputError that names the first key whose value no lens has."""

    def nonsense(key: str) -> InputError:
        return InputError("profile_nonsense", file=file, key=key, value=str(content.get(key))[:40])

    def number(key: str, least: float, most: float) -> float:
        value = content[key]
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
            raise nonsense(key)
        return float(value)

    width, height = (round(number(k, 100, LARGEST_PX)) for k in ("width_px", "height_px"))
    long_side = max(width, height)
    # From a fisheye's 0.3 to a long telephoto's 30 times the picture's long side.
    focal = number("focal_px", 0.3 * long_side, 30 * long_side)
    # Stabilised lenses shift, crops are not even: a quarter of the picture is beyond both.
    cx, cy = number("cx_px", width / 4, 3 * width / 4), number("cy_px", height / 4, 3 * height / 4)
    k1, k2 = number("k1", -1, 1), number("k2", -2, 2)
    farthest = math.hypot(max(cx, width - cx), max(cy, height - cy)) / focal
    r2 = np.linspace(0, farthest, 50) ** 2
    # Where the bend folds the picture over itself, it is no lens.
    if (1 + r2 * (3 * k1 + r2 * 5 * k2)).min() <= 0.05:
        raise nonsense("k1")
    covariance = _covariance(content.get("covariance"), long_side)
    if covariance is None:
        raise nonsense("covariance")
    known = {"schema", "camera", "covariance", "covariance_of", "width_px", "height_px", *TERMS}
    details = {k: v for k, v in content.items() if k not in known and "_u95" not in k}
    return LensProfile(
        width, height, focal, cx, cy, k1, k2, covariance, _camera(content.get("camera"), nonsense), details, file
    )


def _covariance(given: object, long_side: int) -> Floats | None:
    """The covariance given, the usual one where none is, None where it is nonsense."""
    if given is None:
        return np.diag((np.array(UNSTATED) * [long_side, long_side, long_side, 1, 1]) ** 2)
    try:
        matrix = np.array(given, float)
    except (TypeError, ValueError, OverflowError):
        return None
    if matrix.shape != (5, 5) or not (np.abs(matrix) <= LARGEST_PX**2).all():
        return None
    sd = np.sqrt(np.maximum(np.diag(matrix), 0))
    # Rounding to seven digits may leave eigenvalues a hair below zero; more is not a covariance.
    scaled = matrix / np.outer(np.where(sd > 0, sd, 1), np.where(sd > 0, sd, 1))
    sound = np.allclose(scaled, scaled.T, atol=1e-4) and np.linalg.eigvalsh((scaled + scaled.T) / 2).min() > -1e-4
    return (matrix + matrix.T) / 2 if sound and (np.diag(matrix) >= 0).all() else None


def _camera(given: object, nonsense: Any) -> Camera:
    if given is None:
        return Camera()
    if not isinstance(given, dict):
        raise nonsense("camera")
    words = [given.get(k) for k in ("make", "model", "lens")]
    f35 = given.get("f35_mm")
    zoom = f35 is None or (isinstance(f35, int | float) and not isinstance(f35, bool) and 1 <= f35 <= 10_000)
    if not zoom or not all(w is None or _is_name(w) for w in words):
        raise nonsense("camera")
    return Camera(words[0], words[1], words[2], None if f35 is None else float(f35))


def _is_name(word: object) -> bool:
    """Whether `word` can stand in a sentence of one line."""
    return isinstance(word, str) and len(word) <= LONGEST_NAME and word.isprintable()
