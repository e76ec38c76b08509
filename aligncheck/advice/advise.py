"""The front of this package: the few things worth saying about how the photo was taken."""

from aligncheck.advice.budget import budget_of, typical_u95_mm
from aligncheck.advice.flat import bowed_side
from aligncheck.advice.frame import fill_frame, look_from_above
from aligncheck.advice.gain import MATTERS_MM
from aligncheck.advice.glare import less_glare
from aligncheck.advice.sharp import more_light, sharpen
from aligncheck.advice.square import out_of_square
from aligncheck.drift import Drift
from aligncheck.notes import Note
from aligncheck.photo import Photo

#: Nobody follows more than two pieces of advice at a time.
MOST = 2


def advise(photo: Photo, drift: Drift) -> tuple[Note, ...]:
    """What limits this photo, the most rewarding first; nothing where a better photo would not help.

    Parameters
    ----------
    photo : Photo
    drift : Drift
        Of the marks in this photo.
    """
    marks = drift.marks
    bowed = bowed_side(photo, marks.panel)
    # A profile of another shape of picture is passed over, and says so itself.
    cropped = photo.cropped and marks.panel.lens.source != "profile"
    # What bends a panel moves its rings as well.
    shape = (bowed,) if bowed else out_of_square(marks.panel, drift.tolerance_mm)
    notes = shape + ((Note("advice_cropped"),) if cropped else ())
    gains = [less_glare(photo, drift)]
    # Where the answer is sharp already nothing else would be worth saying, so nothing need be worked out.
    if (typical_u95_mm(drift) or 0.0) >= MATTERS_MM and (budget := budget_of(drift)):
        gains += [
            fill_frame(photo, marks, budget),
            look_from_above(marks, budget),
            sharpen(photo, marks.panel, budget),
            more_light(photo, budget),
        ]
    worth = sorted((g for g in gains if g is not None and g.worth_it), key=lambda g: -g.share)
    return (*notes, *(g.note() for g in worth[:MOST]))
