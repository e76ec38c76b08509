"""Is the panel square? Where its round rings surely say that it is not, by more than matters, the painter hears it."""

from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.squareness import shape_slopes

#: The settled map weighs the rings against what is usual. Where it takes less than this of what the rings alone say,
#: it may as well be the hand that drew them.
BORNE_OUT = 0.5


def out_of_square(panel: Panel, tolerance_mm: float) -> tuple[Note, ...]:
    """What differs by more than the tolerance: its diagonals, and its width from what its height wants."""
    shape = panel.squareness
    if shape is None:
        return ()
    size = panel.width_mm, panel.height_mm
    diagonals, too_wide = (shape_slopes(*size) @ (panel.corners_mm - nominal_corners(*size)).ravel()).tolist()
    notes = []
    if _sure(shape.diagonals_mm, shape.diagonals_u95_mm, diagonals, tolerance_mm):
        longer = "top left to bottom right" if shape.diagonals_mm > 0 else "top right to bottom left"
        values = {"longer": longer, **_told(shape.diagonals_mm, shape.diagonals_u95_mm)}
        notes.append(Note("panel_not_square", values))
    if _sure(shape.too_wide_mm, shape.too_wide_u95_mm, too_wide, tolerance_mm):
        way = "wide" if shape.too_wide_mm > 0 else "narrow"
        notes.append(Note("panel_too_wide", {"way": way, **_told(shape.too_wide_mm, shape.too_wide_u95_mm)}))
    return tuple(notes)


def _sure(value_mm: float, u95_mm: float, settled_mm: float, tolerance_mm: float) -> bool:
    return abs(value_mm) > max(u95_mm, tolerance_mm) and settled_mm / value_mm > BORNE_OUT


def _told(value_mm: float, u95_mm: float) -> dict[str, str]:
    return {"mm": f"{abs(value_mm):.1f}", "u95": f"{max(u95_mm, 0.1):.1f}"}
