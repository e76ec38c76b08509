"""Several photos of one panel as one measurement: the front of this package."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.marks import Marks
from aligncheck.marks.settle import onto, unsettle
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.panel.in_common import own_precision
from aligncheck.together.adjust import Adjusted, adjust
from aligncheck.together.agree import alike, largest_group
from aligncheck.together.joined import corrected_panel, joined_marks
from aligncheck.together.match import Frame, Observed, common_frame, observe, roundness_of
from aligncheck.together.seen import see

Floats = NDArray[np.float64]

#: A photo whose map needs a correction this large against its own covariance (per degree of freedom) was measured
#: wrongly, whatever it says: the 0.1 % point for ten degrees is 3, and covariances are known to a factor of two.
WRONG_MAP = 6.0


@dataclass(frozen=True)
class Together:
    """The joint measurement.

    Attributes
    ----------
    marks : Marks
        The common marks in the frame of the first photo used; `marks.panel` is that photo's map, corrected.
    used : tuple of int
        Which of the photos given take part.
    quarters : tuple of int
        How many quarter turns clockwise bring each used photo's panel into the frame of the first.
    left_out : tuple of (int, Note)
        The others, with the reason.
    map_chi2 : tuple of float
        How far each used photo's map was corrected against its own covariance; about 1.
    panels : tuple of Panel
        Each used photo's panel with its corrected map, in that photo's own frame.
    notes : tuple of Note
    """

    marks: Marks
    used: tuple[int, ...]
    quarters: tuple[int, ...]
    left_out: tuple[tuple[int, Note], ...]
    map_chi2: tuple[float, ...]
    panels: tuple[Panel, ...]
    notes: tuple[Note, ...]


def tie(photos: Sequence[Marks], names: Sequence[str]) -> Together:
    """Join the marks of several photos of one panel.

    Parameters
    ----------
    photos : sequence of Marks
        Of each photo, in its own panel frame. The panel may be turned by quarters from photo to photo.
    names : sequence of str
        What the photos are called, for remarks.

    Raises
    ------
    InputError
        "together_one" with fewer than two photos, "together_disagree" where no two show the same panel,
        "together_differ" where they do but no two were measured alike.
    """
    if len(photos) < 2:
        raise InputError("together_one")
    photos = [unsettle(m) for m in photos]
    seen = [see(m) for m in photos]
    group, turns = largest_group(seen)
    if len(group) < 2:
        same = any(alike(a, b) for k, a in enumerate(seen) for b in seen[k + 1 :])
        raise InputError("together_differ" if same else "together_disagree", files=", ".join(names))
    first = group[0]
    left_out = [
        (i, Note("together_wrong_map" if alike(seen[first], seen[i]) else "together_other_panel", {"file": names[i]}))
        for i in range(len(photos))
        if i not in group
    ]
    quarters = {i: (turns[i].quarters - turns[first].quarters) % 4 for i in group}
    while True:
        used = [i for i in group if i not in {k for k, _ in left_out}]
        quarters = {i: (quarters[i] - quarters[used[0]]) % 4 for i in used}
        turned = [seen[i].turned(quarters[i]) for i in used]
        # A mark that only one of several photos shows may be a shadow or a stray.
        frame = common_frame(turned, least=2 if len(used) > 2 else 1)
        observed = [observe(frame, t) for t in turned]
        shown = [t.shown for t in turned]
        own = [own_precision(photos[used[0]].panel, make) for make in shown[0].makes]
        adjusted = adjust(observed, shown, own, roundness_of(frame, turned), frame.size)
        worst = int(adjusted.map_chi2.argmax())
        if adjusted.map_chi2[worst] < WRONG_MAP or len(used) < 3:
            break
        left_out.append((used[worst], Note("together_wrong_map", {"file": names[used[worst]]})))
    panels = tuple(corrected_panel(photos[i].panel, adjusted, k) for k, i in enumerate(used))
    mended = [onto(panel, photos[i]) for i, panel in zip(used, panels, strict=True)]
    undecided = [names[i] for i in used if not turns[i].decided]
    return Together(
        marks=joined_marks(mended, turned, [quarters[i] for i in used], frame, adjusted),
        used=tuple(used),
        quarters=tuple(quarters[i] for i in used),
        left_out=tuple(sorted(left_out, key=lambda pair: pair[0])),
        map_chi2=tuple(float(c) for c in adjusted.map_chi2),
        panels=panels,
        notes=_notes(names, used, left_out, undecided, observed, adjusted, frame),
    )


def _notes(
    names: Sequence[str],
    used: Sequence[int],
    left_out: Sequence[tuple[int, Note]],
    undecided: Sequence[str],
    observed: Sequence[Observed],
    adjusted: Adjusted,
    frame: Frame,
) -> tuple[Note, ...]:
    notes = [note for _, note in left_out]
    if undecided:
        notes.append(Note("together_which_side_up", {"files": ", ".join(undecided)}))
    if used[0] != 0:
        notes.append(Note("together_frame", {"file": names[used[0]]}))
    for i, o, agrees in zip(used, observed, adjusted.agrees, strict=True):
        odd = len(set(o.mark[~agrees].tolist()))
        # One odd mark in a photo is chalk dust; a third of them is worth a word.
        if odd > (len(frame.spokes) + len(frame.rings)) / 3:
            notes.append(Note("together_odd_marks", {"file": names[i], "number": odd}))
    return tuple(notes)
