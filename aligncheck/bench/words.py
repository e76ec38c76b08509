"""Every sentence of the bench page, in one place, so that they can be read together and translated.

Findings themselves come from `aligncheck.words`; what is refused is said here again, for somebody with a phone in her
hand: one reason, and one or two things to do.
"""

from aligncheck.sentences import phrase

TEXT: dict[str, str] = {
    "title": "Bench",
    "panel": "Panel {size}",
    "photo_of": "photo of {time}",
    # before a photo
    "ready": "Photograph the panel",
    "ready_how": "From about above, all four corners in the picture.",
    "take": "Take the photo",
    "choose": "Choose a photo",
    "drop": "or drop a photo here",
    "measure": "Measure",
    "photo_file": "Photo of the panel",
    "what": "What is on the bench?",
    "size": "Panel size, width x height",
    "size_hint": "Such as 12x12in or 30x40cm.",
    "segments": "Number of spokes",
    "segments_hint": "Leave empty to have them counted.",
    "tolerance": "Still good, in mm",
    "tolerance_hint": "Empty: 1.0 mm at the outer end.",
    "piece": "Piece",
    "no_piece": "No piece, only measure",
    "new_piece": "Begin a new piece, called",
    "new_piece_hint": "Its photos can then be kept in a record.",
    "place_name": "Whose place is this?",
    "remember": "Remember this",
    "change": "Change",
    "pieces": "Pieces on record",
    "last": "Last photos",
    "see_live": "Overhead camera",
    "see_class": "All places",
    # while measuring
    "sending": "Sending",
    "sent_share": "{percent} % sent.",
    "measuring": "Measuring",
    "seconds": "About {seconds} seconds more.",
    "second": "About a second more.",
    "moment": "A moment more.",
    "queue": "{count} photos are before yours. About {seconds} seconds.",
    "queue_one": "One photo is before yours. About {seconds} seconds.",
    "step_panel": "Panel found",
    "step_panel_open": "Looking for the panel",
    "step_marks": "Spokes and rings read",
    "step_marks_open": "Reading spokes and rings",
    "step_plan": "Measured against your plan",
    "step_plan_open": "Measuring against your plan",
    "stop": "Stop",
    "done_step": "done",
    "now_step": "now",
    "later_step": "to come",
    # the answer
    "times": "Arrows show {times} times the true move.",
    "times_one": "Arrows show the true move.",
    "times_cut": "Arrows show {times} times the true move, the longest cut short.",
    "dots_marked": "Marked: the dots to see to.",
    "dots_plain": "Nothing is marked: every dot is as its like.",
    "no_arrows": "Beads: these spokes fit.",
    "show_flat": "Show flat view",
    "show_photo": "Show the photo",
    "whole_picture": "Open the picture alone",
    "moves": "Move these, worst first",
    "outer_end": "outer end {way}",
    "ring": "Ring {number}",
    "ring_way": "draw it {way}",
    "petal_title": "Row {row}, {place}",
    "petal_out": "draw its tip further out",
    "dot_missing": "a dot is missing, {mm} mm from the centre",
    "dot_big": "dot too big, {mm} mm from the centre",
    "dot_like": "its like {mm}",
    "mend_later": "Petals and dots to mend",
    "close": "Too close to call",
    "close_grey": "Grey: within {tolerance} mm of the plan.",
    "close_more": "And {count} more.",
    "close_photo": "Another photo, closer and squarer, may tell.",
    "all_figures": "Every spoke and ring",
    "tap": "Tap a spoke in the picture, or a line here, for its figures.",
    "of_spoke": "Spoke at {place}",
    "of_spoke_other": "{place}",
    "figure_move": "Outer end",
    "figure_miss": "Past the centre mark",
    "figure_long": "Drawn length",
    "figure_radius": "Radius as drawn",
    "figure_ring": "Against the even spacing",
    "shut": "Close",
    "verdict_within": "fits",
    "verdict_out": "move",
    "verdict_unsure": "too close",
    "also": "Also",
    "picture_alt": "The photo with what was found drawn on it. {headline}. {second}.",
    "flat_alt": "The panel straight from above with what was found drawn on it. {headline}. {second}.",
    "photo_alt": "Your photo of the panel",
    # again
    "again": "Photograph again",
    "keep": "Keep",
    "keep_record": "Keep in the record",
    "keeping": "Keeping it",
    "kept": "Kept as stage {number}: {title}",
    "kept_before": "Kept already as stage {number}: {title}",
    "keep_failed": "Not kept: {reason}",
    "keep_as": "Keep this photo as a stage of",
    "stage": "Stage",
    "stage_hint": "Such as: marked, second row traced. Empty: by what the photo shows.",
    "need_piece": "Choose a piece or begin a new one.",
    "see_record": "See its record",
    "since": "Since the photo before",
    "mended": "{what} mended",
    "still": "{what} still to move",
    "worse": "{what} to move that fitted before",
    "perhaps": "{what} too close to call now",
    "lost": "{what} not seen now",
    "nothing_changed": "Nothing had to move before, and nothing has now",
    "turned_quarter": "The panel lies turned by a quarter since then; spokes are called as they lie now",
    "turned_half": "The panel lies turned by half a turn since then; spokes are called as they lie now",
    "cannot_compare": "The photo before showed another number of spokes: not compared",
    "was_now": "was {before}, now {now}",
    "to_go": "{mm} mm to go",
    "fits_now": "fits",
    "perhaps_now": "too close to call",
    "unseen_now": "not seen",
    "before": "before",
    "now": "now",
    # not measured
    "not_measured": "Not measured",
    "no_answer": "No answer",
    "stopped": "Stopped",
    "stopped_second": "Your photo is kept. It can be measured at any time.",
    "cannot_reach": "The measuring computer cannot be reached. Your photo is safe on this phone.",
    "cannot_reach_1": "Is the phone on the same network as before?",
    "cannot_reach_2": "Is the computer awake?",
    "try_again": "Try again",
    "choose_another": "Choose another photo",
    "by_hand": "Mark the corners by hand",
    "cut_off": "cut off",
    "kept_here": "The photo is kept here; nothing needs to be taken twice.",
    # corners
    "corners": "Mark the corners",
    "corners_how": "Drag each ring onto a corner of the panel. The lens shows what is under your finger.",
    "corners_keys": "With keys: choose a corner, then use the arrow keys; with Shift in larger steps.",
    "corners_plain": "Tap the four corners of the panel, one after the other.",
    "corners_left": "{count} of 4 corners marked.",
    "corner_1": "Top left corner",
    "corner_2": "Top right corner",
    "corner_3": "Bottom right corner",
    "corner_4": "Bottom left corner",
    "corners_go": "Measure with these corners",
    "corners_reset": "Begin again",
    "back": "Back",
    # a class, a camera, a record
    "class_title": "All places",
    "class_none": "No photo yet. Places appear here when their first photo comes in.",
    "class_count": "{count} places",
    "class_count_one": "1 place",
    "class_now": "{fits} fit, {moves} to move, {others} other",
    "live_title": "Overhead camera",
    "live_wait": "Waiting for a new photo in the watched folder.",
    "live_size": "Say first how large the panel is; the next photo is then measured by itself.",
    "record_now": "Now: {headline}",
    "record_placed": "Centrepiece: {words}",
    "photograph_stage": "Photograph stage {number}",
    "stage_alt": "Stage {number}, {title}",
    "record_none": "No stage is kept yet.",
    "record_where": "Its photos and figures lie in the folder “{folder}” of this computer.",
    "home": "To the bench",
    # refused requests
    "not_done": "Not done",
    "broken": "Something broke on this computer. Go back and try again; what was sent is kept.",
    "no_token": "This address needs the code that the studio's computer shows. Scan it again.",
    "not_found": "There is nothing here. The photo may have been let go after many others.",
    "not_here": "This belongs to another place.",
    "cross_site": "That came from another page and is refused.",
    "bad_request": "That cannot be understood. Go back and try again.",
    "too_large": "That is larger than {limit} MB. Send the photo as the phone took it.",
    "too_many": "Too many photos are waiting. Try again in half a minute; nothing is lost.",
    "cut_short": "The photo did not arrive whole. Send it again.",
    "no_photo": "No photo was chosen.",
    "disk_full": "This computer's disk is full. Make room, then send the photo again.",
    "not_a_photo": "This file is not a photo.",
    "method": "That cannot be done here.",
}

#: By the code of a refusal: the reason, and what to do, for somebody at the bench.
REFUSED: dict[str, tuple[str, tuple[str, ...]]] = {
    "panel_cut_off": (
        "Part of the panel is cut off.",
        ("Step back until all four corners show.", "Leave a hand's width of table around the panel."),
    ),
    "no_panel": (
        "No panel found.",
        ("Lay it on something lighter or darker.", "Have all four corners in the picture."),
    ),
    "outline_doubtful": (
        "The panel's sides are not clear enough.",
        ("Lay it on another colour, or turn the lamp.", "Or mark the corners by hand."),
    ),
    "two_panels": ("There is more than one marked panel in the picture.", ("Photograph one at a time.",)),
    "corners_cross": ("These points are not the four corners of a panel.", ("Mark each corner once, as it lies.",)),
    "corners_outside": ("One of the corners lies outside the picture.", ("Mark the four corners again.",)),
    "photo_blurred": (
        "Too blurred to measure.",
        ("Rest your elbows on the table.", "Tap the panel on the screen before you press."),
    ),
    "photo_too_dark": ("Too dark to measure.", ("Photograph again with more light.",)),
    "photo_blown_out": ("Blown out to white.", ("Photograph again with less light, or turn the lamp.",)),
    "photo_too_small": (
        "The picture is too small to measure.",
        ("Send the photo itself, not a preview from a message.",),
    ),
    "not_a_picture": ("This file is not a photo.", ("Choose the photo as the phone took it.",)),
    "picture_damaged": ("The photo did not arrive whole.", ("Send it again.",)),
    "file_empty": ("The photo did not arrive whole.", ("Send it again.",)),
    "too_many_pixels": ("The picture has too many pixels.", ("Take it with the phone's ordinary setting.",)),
    "out_of_memory": (
        "The picture needs more memory than the bench has.",
        ("Take it with the phone's ordinary setting.",),
    ),
    "nothing_drawn": ("No chalk lines found.", ("Is this the right stage?", "Turn the lamp so that they show.")),
    "bad_size": ("The panel size cannot be read.", ("Write width x height with the unit: 12x12in or 30x40cm.",)),
    "odd_size": ("No panel has that size.", ("Write width x height with the unit: 12x12in or 30x40cm.",)),
    "bad_segments": ("That is not a number of spokes.", ("Give a whole number from 2 to 120, or leave it empty.",)),
    "bad_tolerance": ("That is not a tolerance.", ("Give it in mm, such as 1.0.",)),
    "bad_length": ("That is not a tolerance.", ("Give it in mm, such as 1.0.",)),
    "too_slow": ("Measuring took too long.", ("Try again; the photo is kept.", "Or photograph from closer.")),
    "worker_died": ("Something broke while measuring.", ("Try again; the photo is kept.", "Or photograph again.")),
    "unexpected": ("Something went wrong while measuring.", ("Try again; the photo is kept.", "Or photograph again.")),
}

#: Refusals where marking the corners may help.
BY_HAND = {
    "no_panel",
    "panel_cut_off",
    "outline_doubtful",
    "two_panels",
    "size_mismatch",
    "corners_cross",
    "corners_outside",
}


def say(key: str, **values: object) -> str:
    """A text with its values filled in."""
    return TEXT[key].format(**values)


#: How many corners of a panel are cut off, where that is known.
CUT_OFF = {
    1: "One corner of the panel is cut off.",
    2: "Two corners of the panel are cut off.",
    3: "Three corners of the panel are cut off.",
    4: "All four corners of the panel are cut off.",
}


def refused(code: str, values: dict[str, object], cut_off: int = 0) -> tuple[str, tuple[str, ...]]:
    """Reason and what to do; what has no words here has its one line in `aligncheck.sentences`.

    `cut_off` is how many corners lie outside the picture.
    """
    if code == "panel_cut_off" and cut_off in CUT_OFF:
        return CUT_OFF[cut_off], REFUSED[code][1]
    if code in REFUSED:
        return REFUSED[code]
    reason, _, rest = phrase(code, values).partition(". ")
    # On the page there are no options of a command line.
    todo = tuple(s.strip().rstrip(".") + "." for s in rest.split(". ") if s.strip() and "--" not in s)
    return reason.rstrip(".") + ".", todo or (TEXT["again"] + ".",)
