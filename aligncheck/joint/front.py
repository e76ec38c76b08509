"""Several photos of one panel checked together: the front of this package."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from aligncheck.checking import check, ideal_layout
from aligncheck.drift import Drift, measure_drift
from aligncheck.errors import AligncheckError
from aligncheck.joint.measured import Measured
from aligncheck.layout import Layout
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.together import Together, tie


@dataclass(frozen=True)
class JointCheck:
    """What several photos of one panel say together; `photo` stands for the first that takes part, without pixels.

    Attributes
    ----------
    photos : tuple of Measured
        All measured photos in the order given; `together.used` tells which take part.
    """

    photo: Photo
    panel: Panel
    marks: Marks
    drift: Drift
    photos: tuple[Measured, ...]
    together: Together
    stage: str = "marked"
    notes: tuple[Note, ...] = ()


def check_together(
    photos: Sequence[str | Path | Photo],
    panel: str | tuple[float, float],
    layout: Layout | str | Path | None = None,
    **options: Any,
) -> JointCheck:
    """Measure one panel from several photos of it, in any positions and turned by quarters.

    Parameters
    ----------
    photos : sequence of path or Photo
        A photo that cannot be measured is left out with a note.
    panel, layout, options
        As for :func:`aligncheck.check`; corners by hand have no place here.

    Raises
    ------
    AligncheckError
        Where fewer than two photos can be measured, or no two of them show the same marks.
    """
    measured: list[Measured] = []
    failed: list[Note] = []
    for photo in photos:
        try:
            measured.append(Measured.of(check(photo, panel, layout, **options)))
        except AligncheckError as error:
            name = Path(photo).name if isinstance(photo, str | Path) else str(photo.path or "photo")
            failed.append(Note("together_not_measured", {"file": name, "reason": str(error)}))
    ideal = ideal_layout(layout, options.get("segments"), options.get("tolerance_mm"))
    return join(measured, ideal, tuple(failed))


def _tied_once(photos: Sequence[Measured]) -> Together:
    """`tie` without copies of a photo, which would seem to agree perfectly; they are named among those left out."""
    first: dict[str, int] = {}
    for i, photo in enumerate(photos):
        first.setdefault(photo.sha256 or f"{i}", i)
    kept = list(first.values())
    together = tie([photos[i].marks for i in kept], [photos[i].name for i in kept])
    copies = [
        (i, Note("together_same_photo", {"file": p.name, "other": photos[first[p.sha256]].name}))
        for i, p in enumerate(photos)
        if p.sha256 and first[p.sha256] != i
    ]
    left_out = sorted([*((kept[i], note) for i, note in together.left_out), *copies], key=lambda pair: pair[0])
    return replace(
        together,
        used=tuple(kept[i] for i in together.used),
        left_out=tuple(left_out),
        notes=(*(note for _, note in copies), *together.notes),
    )


def join(photos: Sequence[Measured], layout: Layout | None = None, notes: tuple[Note, ...] = ()) -> JointCheck:
    """Join photos that have been measured one by one; the same file given twice counts once."""
    together = _tied_once(photos)
    first = photos[together.used[0]]
    every = (*notes, *together.notes, *together.marks.notes)
    return JointCheck(
        photo=first.photo(),
        panel=together.marks.panel,
        marks=together.marks,
        drift=measure_drift(together.marks, layout),
        photos=tuple(photos),
        together=together,
        notes=tuple({(n.code, n.text): n for n in every}.values()),
    )
