"""Putting the piece back, in words: right and up as the panel stands now, then how far the tips travel."""

from aligncheck.placement import Placement
from aligncheck.words import phrases
from aligncheck.words.summary import Summary

IN_PLACE = "It lies where it lay"
IN_PLACE_SECOND = "To ± {u95} mm, its tips to ± {tips} mm"
PUT_BACK = "Put it back"
SHIFT = "Move it {shift}."
SHIFT_AND_TURN = "Move it {shift}, then turn it until the tips have gone {tips} mm {way}."
TURN = "Turn it until the tips have gone {tips} mm {way}."
SURE = "Sure to ± {across} mm across and ± {up} mm up and down, the tips to ± {tips} mm."
LEGEND_EARLIER = "where it lay"
LEGEND_PUT_BACK = "move and turn it this way"

#: Smaller moves than this, mm, nobody makes by hand.
HAND_MM = 0.3


def shift_counts(moved: Placement) -> bool:
    """Whether there is a shift worth making: more than a hand can hold, and more than its interval."""
    sizes = zip(moved.back_mm, _u95_now(moved), strict=True)
    return any(abs(value) > max(HAND_MM, u95) for value, u95 in sizes)


def turn_counts(moved: Placement) -> bool:
    """Whether there is a turn worth making."""
    return abs(moved.tips_mm) > max(HAND_MM, moved.tips_u95_mm)


def is_back(moved: Placement) -> bool:
    """Whether the piece lies where it lay, as far as can be told."""
    return not shift_counts(moved) and not turn_counts(moved)


def headline(moved: Placement) -> tuple[str, str]:
    """The verdict and the line below it."""
    across, up = _u95_now(moved)
    if is_back(moved):
        tips = phrases.plus_minus(moved.tips_u95_mm)
        return IN_PLACE, IN_PLACE_SECOND.format(u95=phrases.plus_minus(max(across, up)), tips=tips)
    return PUT_BACK, way_back(moved)


def summarise_placing(moved: Placement) -> Summary:
    """The verdict for the strip above a picture."""
    return Summary("fits" if is_back(moved) else "move", *headline(moved))


def way_back(moved: Placement) -> str:
    """The move that puts it back, as one sentence."""
    shift = phrases.shift(*moved.back_mm)
    tips, way = phrases.mm(moved.tips_mm), phrases.turning(moved.tips_mm)
    if not turn_counts(moved):
        return SHIFT.format(shift=shift)
    if not shift_counts(moved) or not shift:
        return TURN.format(tips=tips, way=way)
    return SHIFT_AND_TURN.format(shift=shift, tips=tips, way=way)


def placing_lines(moved: Placement) -> list[str]:
    """What is printed."""
    lines = list(headline(moved))
    if not is_back(moved):
        across, up = (phrases.plus_minus(u) for u in _u95_now(moved))
        lines.append(SURE.format(across=across, up=up, tips=phrases.plus_minus(moved.tips_u95_mm)))
    return lines


def _u95_now(moved: Placement) -> tuple[float, float]:
    """The intervals across and up as the panel stands now."""
    u95 = (moved.dx_u95_mm, moved.dy_u95_mm)
    return u95 if moved.quarters % 2 == 0 else (u95[1], u95[0])
