"""Names of the result files, one set a photo, so that no two photos of a call share one."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple


class Target(NamedTuple):
    """Where the results of one photo go: a folder and the first part of the names."""

    folder: Path
    stem: str

    @property
    def result(self) -> Path:
        """The figures."""
        return self.folder / f"{self.stem}.json"

    @property
    def flat(self) -> Path:
        """The bare flat view."""
        return self.folder / f"{self.stem}.flat.jpg"

    @property
    def overlay(self) -> Path:
        """The drawing on the photo as taken."""
        return self.folder / f"{self.stem}.overlay.jpg"

    @property
    def flat_overlay(self) -> Path:
        """The drawing on the flat view."""
        return self.folder / f"{self.stem}.flat-overlay.jpg"

    @property
    def files(self) -> tuple[Path, ...]:
        """All four."""
        return self.result, self.flat, self.overlay, self.flat_overlay


def targets(photos: Sequence[Path], out: Path | None) -> list[Target]:
    """A target for each photo: in `out`, or in a folder ``aligncheck`` beside it.

    Photos that share a stem keep their endings; those of one full name from several folders get their folder's name in
    front, and a number where even that is the same.
    """
    folders = [out if out is not None else photo.parent / "aligncheck" for photo in photos]
    names = [photo.stem for photo in photos]
    for longer in (lambda p: p.name, lambda p: f"{p.resolve().parent.name}-{p.name}"):
        clashing = _clashes(folders, names)
        names = [longer(p) if clash else n for p, n, clash in zip(photos, names, clashing, strict=True)]
    seen: Counter[tuple[Path, str]] = Counter()
    found = []
    for folder, name in zip(folders, names, strict=True):
        seen[folder, name.casefold()] += 1
        again = seen[folder, name.casefold()]
        found.append(Target(folder, name if again == 1 else f"{name}-{again}"))
    return found


def _clashes(folders: Sequence[Path], names: Sequence[str]) -> list[bool]:
    """Which names another photo has too; letters' case does not tell files apart everywhere."""
    counts = Counter((folder, name.casefold()) for folder, name in zip(folders, names, strict=True))
    return [counts[folder, name.casefold()] > 1 for folder, name in zip(folders, names, strict=True)]
