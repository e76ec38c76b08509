"""Every phrase of the findings, in one place, so that they can be read together and translated.

They say the move, not the fault: which way to go, never which way it lies now. Millimetres with one decimal, clock
positions, ring numbers; no jargon.
"""

from collections.abc import Sequence

EVERYTHING_FITS = "Everything fits"
NOT_MEASURED = "Not measured"
MOVE = "Move {what}"
TOO_CLOSE = "{what} too close to call"

FIRST_SPOKE = "First {place}: outer end {mm} mm {way}"
FIRST_RING = "First ring {number}: {mm} mm {way}"
OTHERS_FIT = "The other {count} fit within {tolerance} mm. Photograph again"
PHOTOGRAPH_AGAIN = "Photograph again"
ALL_WITHIN = "{what} within {tolerance} mm of the plan"

MOVE_SPOKE = "{spoke}: move its outer end {mm} mm {way}, ± {u95} mm."
MOVE_RING = "Ring {number}: draw it {mm} mm {way}, ± {u95} mm."
PERHAPS_SPOKE = "{spoke}: too close to call, perhaps {mm} mm {way}, ± {u95} mm."
PERHAPS_RING = "Ring {number}: too close to call, perhaps {mm} mm {way}, ± {u95} mm."
OFF_UNDER_PAINT = "{what} off under the paint: nothing to move there any more."
UNSURE_UNDER_PAINT = "{what} too close to call under the paint."
ANOTHER_PHOTO = "Another photo, closer and squarer, may tell."
DRAWN = "Drawn in {path}"
FIT_WITHIN = "{what} {verb} within {tolerance} mm."
NOT_SEEN = "Not seen: {what}."
CENTRE_OFF = "The centre lies {where} of the panel's middle, ± {u95} mm."
SPOKES_MISS = "The spokes meet {where} of the centre mark, ± {u95} mm."
RING_OFF = "Ring {number} has its own centre, {where} of the layout's, ± {u95} mm."

CLOCKWISE, ANTICLOCKWISE = "clockwise", "anticlockwise"
IN, OUT = "further in", "further out"

RING_NAME = "ring {number}"
LEGEND_FIT = "{what} {verb}"
LEGEND_MOVE = "move this way, drawn {times}× longer"
LEGEND_MOVE_TRUE = "move this way, drawn true to size"
LEGEND_CUT = ", longest cut short"
LEGEND_DRAWN = "drawn"
LEGEND_PLAN = "plan"
LEGEND_TOO_CLOSE = "too close to call"
LEGEND_SURE = "marks sure to ± {u95} mm"
LEGEND_SURE_RANGE = "marks sure to ± {least} to {most} mm"
LEGEND_TOLERANCE = "tolerance {tolerance} mm"
LEGEND_MORE = "{count} more in the list"

TABLE_VERDICT = {"within": "fits", "out": "move", "unsure": "too close"}


def mm(value_mm: float) -> str:
    """Size of a length in mm, one decimal, without its sign."""
    return f"{abs(value_mm):.1f}"


def plus_minus(u95_mm: float) -> str:
    """A 95 % half-width in mm, one decimal, never "0.0": nothing is known exactly."""
    return f"{max(u95_mm, 0.1):.1f}"


def shift(x_mm: float, y_mm: float) -> str:
    """A shift on the panel, y positive down: "1.4 mm left and 0.3 mm up"; what rounds to nothing is left out."""
    across = f"{mm(x_mm)} mm {'right' if x_mm > 0 else 'left'}"
    along = f"{mm(y_mm)} mm {'down' if y_mm > 0 else 'up'}"
    return listed([text for text, value in ((across, x_mm), (along, y_mm)) if mm(value) != "0.0"])


def turning(value: float) -> str:
    """Which way round, for a value that is positive clockwise."""
    return CLOCKWISE if value > 0 else ANTICLOCKWISE


def ring_way(drift_mm: float) -> str:
    """Which way to draw a ring again whose radius is `drift_mm` too large."""
    return IN if drift_mm > 0 else OUT


def count(number: int, what: str) -> str:
    """ "1 spoke", "3 spokes"."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def fit(number: int) -> str:
    """The verb for so many: "fits", "fit"."""
    return "fits" if number == 1 else "fit"


def counts(spokes: int, rings: int, every_ring: bool = False) -> str:
    """ "3 spokes and 1 ring"; kinds of which there are none are left out."""
    ring_words = f"all {rings} rings" if every_ring and rings > 1 else count(rings, "ring")
    return listed([text for number, text in ((spokes, count(spokes, "spoke")), (rings, ring_words)) if number])


def listed(parts: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def spoke_words(place: str) -> str:
    """Begin a sentence with the spoke at `place`: "Spoke at 4 o'clock", "The second spoke after 4"."""
    return place[0].upper() + place[1:] if place.startswith("the ") else f"Spoke at {place}"


def spokes_at(places: Sequence[str]) -> str:
    """ "the spoke at 3 o'clock", "the spokes at 1 and 2 o'clock"."""
    if any(place.startswith("the ") for place in places):
        return listed([place if place.startswith("the ") else f"the spoke at {place}" for place in places])
    hours = [place.removesuffix(" o'clock") for place in places]
    words = listed(hours) + (" o'clock" if places[-1].endswith("o'clock") else "")
    return f"the spoke{'s' if len(places) > 1 else ''} at {words}"
