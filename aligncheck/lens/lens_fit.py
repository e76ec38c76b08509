"""The LensFit value: a fitted profile with what it rests on."""

from dataclasses import dataclass

from aligncheck.errors import AligncheckError
from aligncheck.lens.compare import Comparison
from aligncheck.lens.effect import CornerEffect
from aligncheck.lens.look import BoardPhoto
from aligncheck.lens.profile import LensProfile
from aligncheck.notes import Note


@dataclass(frozen=True)
class LensFit:
    """A fitted profile with what it rests on.

    `rejected` lists photos that were left out, each with its reason.
    """

    profile: LensProfile
    effect: CornerEffect
    rms_px: float
    used: tuple[BoardPhoto, ...]
    view_rms_px: tuple[float, ...]
    rejected: tuple[tuple[str, AligncheckError], ...]
    comparison: Comparison
    notes: tuple[Note, ...]
