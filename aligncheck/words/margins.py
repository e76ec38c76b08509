"""The margin round the design in words: what the frame hides, what stays clear, how far off the middle it sits."""

from collections.abc import Iterable

from aligncheck.margin import Margin
from aligncheck.margin.frame import (
    PLAY_MM,
    USUAL_DEPTH_MM,
    USUAL_REBATE_MM,
    Frame,
    beside_frame,
    needed_depth,
    opening_mm,
    ready_made,
    room_askew,
    sight_mm,
    verdict,
    worst_side,
)
from aligncheck.notes import Note
from aligncheck.panel.squareness import Squareness
from aligncheck.words import phrases
from aligncheck.words.cautions import GLASS, GLUE
from aligncheck.words.summary import Summary

CLEAR = "The frame hides nothing of it"
HIDES = "The frame hides part of it"
TOO_CLOSE = "The frame comes too close to call"
LEAST = "Least room at the {side}: {spare} mm beside the frame, ± {u95} mm"
COVERED = "Most at the {side}: {spare} mm of it under the frame, ± {u95} mm"
SIDE = "{side}: {mm} mm from the side, ± {u95} mm; {spare}."
BESIDE, UNDER = "{mm} mm beside the frame", "{mm} mm under the frame"
OFF_MIDDLE = "The design sits {shift} of the panel's middle, ± {u95} mm."
IN_MIDDLE = "The design sits in the panel's middle, ± {u95} mm."
REBATE = (
    "Frame: {mm} mm of rebate on each side{usual}; opening {wide} x {high} mm, in sight {sight_wide} x {sight_high}."
)
USUAL = " (a usual quarter of an inch; measure yours and give --rebate)"
READY = "Frames for {wide:g} x {high:g} in are sold ready made."
TO_MEASURE = "This size is none of the usual ready-made ones: look for one, or have it cut to measure."
LEANS = "In a frame that takes {mm} mm, ± {u95} mm, of the {play} mm by which its opening is larger."
LEANS_FAR = "In a frame that takes an opening {mm} mm larger than the panel, ± {u95} mm; usual are {play} mm."
DEPTH = "A panel of {panel} mm with the piece{glass} takes {least} to {most} mm of the frame's depth."
DEPTH_ONE = "A panel of {panel} mm with the piece{glass} takes {most} mm of the frame's depth."
USUAL_DEPTH = "Usual frames are {from_mm} to {to_mm} mm deep."
TOO_DEEP = "The frame is {depth} mm deep: the piece stands {over} mm out of it. Take a deep frame."
MAY_BE_DEEP = "The frame is {depth} mm deep: the piece may stand up to {over} mm out of it. Measure its height."
WITH_GLASS, WITHOUT_GLASS = " and glass", ""
LEGEND_CLEAR, LEGEND_FRAME = "clear to the side", "the frame's edge"

#: A shift smaller than this and its interval is none that anyone sees, mm.
SEEN_MM = 0.5
#: Boards and panels that are not deep, mm: taken where the thickness is not given.
THIN_MM = 3.0


def headline(margin: Margin) -> tuple[str, str]:
    """The verdict and the line below it."""
    rebate = margin.rebate_mm if margin.rebate_mm is not None else USUAL_REBATE_MM
    worst = worst_side(margin)
    verdicts = {verdict(side, rebate) for side in margin.sides}
    spare, u95 = phrases.mm(beside_frame(worst, rebate)), phrases.plus_minus(worst.u95_mm)
    words = HIDES if "hides" in verdicts else TOO_CLOSE if "unsure" in verdicts else CLEAR
    second = (LEAST if beside_frame(worst, rebate) >= 0 else COVERED).format(side=worst.side, spare=spare, u95=u95)
    return words, second


def summarise_margin(margin: Margin) -> Summary:
    """The verdict for the strip above a picture."""
    words, second = headline(margin)
    return Summary("move" if words == HIDES else "unsure" if words == TOO_CLOSE else "fits", words, second)


def margin_lines(
    margin: Margin,
    size_mm: tuple[float, float],
    frame: Frame,
    panel_mm: float | None = None,
    piece_mm: tuple[float, float] | None = None,
) -> list[str]:
    """What is printed.

    Parameters
    ----------
    margin : Margin
    size_mm : (float, float)
        Of the panel.
    frame : Frame
    panel_mm : float, optional
        Thickness of the panel.
    piece_mm : (float, float), optional
        Least and greatest height of what stands on it.
    """
    lines = [*headline(margin), *(_side_line(margin, number, frame.rebate_mm) for number in range(4)), _middle(margin)]
    wide, high = opening_mm(*size_mm)
    sight = sight_mm(*size_mm, frame.rebate_mm)
    usual = USUAL if frame.assumed else ""
    lines.append(
        REBATE.format(
            mm=f"{frame.rebate_mm:g}", usual=usual, wide=f"{wide:.1f}", high=f"{high:.1f}",
            sight_wide=f"{sight[0]:.1f}", sight_high=f"{sight[1]:.1f} mm",
        )
    )  # fmt: skip
    ready = ready_made(*size_mm)
    lines.append(READY.format(wide=ready[0], high=ready[1]) if ready else TO_MEASURE)
    if piece_mm is not None:
        lines += _depth_lines(frame, panel_mm or THIN_MM, piece_mm)
    return lines + [GLASS] * frame.glass


def shape_lines(notes: Iterable[Note], shape: Squareness | None, size_mm: tuple[float, float]) -> list[str]:
    """What the `notes` say of the panel's shape, and what that takes of the frame's opening."""
    told = {note.code: note.text for note in notes if note.code in ("panel_not_square", "panel_too_wide")}
    if shape is None or "panel_not_square" not in told:
        return list(told.values())
    room, u95 = (room_askew(mm, *size_mm) for mm in (shape.diagonals_mm, shape.diagonals_u95_mm))
    words = LEANS if room <= PLAY_MM else LEANS_FAR
    leans = words.format(mm=phrases.mm(room), u95=phrases.plus_minus(u95), play=phrases.mm(PLAY_MM))
    return [told.pop("panel_not_square"), leans, *told.values()]


def _side_line(margin: Margin, number: int, rebate_mm: float) -> str:
    side = margin.sides[number]
    spare = beside_frame(side, rebate_mm)
    words = (BESIDE if spare >= 0 else UNDER).format(mm=phrases.mm(spare))
    name = side.side.capitalize()
    return SIDE.format(side=name, mm=phrases.mm(side.margin_mm), u95=phrases.plus_minus(side.u95_mm), spare=words)


def _middle(margin: Margin) -> str:
    """How far off the panel's middle, where that can be seen at all."""
    u95 = phrases.plus_minus(max(margin.off_middle_u95_mm))
    sure = [abs(v) > max(u, SEEN_MM) for v, u in zip(margin.off_middle_mm, margin.off_middle_u95_mm, strict=True)]
    x, y = (v if yes else 0.0 for v, yes in zip(margin.off_middle_mm, sure, strict=True))
    return OFF_MIDDLE.format(shift=phrases.shift(x, y), u95=u95) if any(sure) else IN_MIDDLE.format(u95=u95)


def _depth_lines(frame: Frame, panel_mm: float, piece_mm: tuple[float, float]) -> list[str]:
    """What panel and piece need in depth, and whether this frame has it."""
    least, most = (needed_depth(panel_mm, height, frame.glass) for height in piece_mm)
    words = DEPTH if most - least > 0.05 else DEPTH_ONE
    from_mm, to_mm = (f"{d:.1f}" for d in USUAL_DEPTH_MM)
    glass = WITH_GLASS if frame.glass else WITHOUT_GLASS
    needed = words.format(panel=f"{panel_mm:g}", glass=glass, least=f"{least:.1f}", most=f"{most:.1f}")
    lines = [f"{needed} {USUAL_DEPTH.format(from_mm=from_mm, to_mm=to_mm)}"]
    if frame.depth_mm is not None and most > frame.depth_mm:
        over = TOO_DEEP if least > frame.depth_mm or words == DEPTH_ONE else MAY_BE_DEEP
        lines.append(over.format(depth=f"{frame.depth_mm:g}", over=f"{most - frame.depth_mm:.1f}"))
    return [*lines, GLUE]
