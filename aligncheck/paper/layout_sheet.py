"""The ideal layout of a panel at true scale: outline to cut, spokes, rings, centre."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from aligncheck.errors import InputError
from aligncheck.geometry.angles import outward
from aligncheck.layout import Layout
from aligncheck.paper.page import Sheets
from aligncheck.paper.template import GREY, LINE_MM, SMALL_MM, THIN_MM, Template
from aligncheck.words.cautions import BLADE

#: Kept free along the sides unless the layout says otherwise: what a usual frame hides (see `aligncheck.margin.frame`).
USUAL_MARGIN_MM = 6.35
#: Paper left around the panel's outline.
AROUND_MM = 4.0
CENTRE_MM = 4.0
MOST_RINGS = 100
#: How long a ring's name is.
NAME_MM = 13.0

STEPS = (
    "Cut along the outside line: the sheet is then as large as the panel. Lay it on the panel, middle on middle.",
    "Prick the centre and the crossings through, or rub the lines through with transfer paper.",
)


@dataclass(frozen=True)
class Plan:
    """The lines of a layout: bearings of the spokes, radii of the rings, and how far out the spokes go, mm."""

    spokes_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    reach_mm: float


def plan_of(layout: Layout, width_mm: float, height_mm: float, rings: int | None = None) -> Plan:
    """What a layout draws on a panel; without a number of rings, as many as the margin leaves room for.

    Raises
    ------
    InputError
        "sheet_empty" where it names neither spokes nor rings, "rings_too_large" where a ring leaves the panel.
    """
    half = min(width_mm, height_mm) / 2
    margin = USUAL_MARGIN_MM if layout.edge_margin_mm is None else layout.edge_margin_mm
    radii: tuple[float, ...] = layout.ring_radii_mm or ()
    if layout.ring_pitch_mm:
        fitting = int((half - margin) / layout.ring_pitch_mm + 1e-9)
        number = min(fitting, MOST_RINGS) if rings is None else rings
        radii = tuple(layout.ring_pitch_mm * k for k in range(1, number + 1))
    if radii and radii[-1] > half:
        raise InputError("rings_too_large", radius_mm=round(radii[-1], 1), half_mm=round(half, 1))
    if not radii and not layout.segments:
        raise InputError("sheet_empty")
    turn = layout.rotation_deg or 0.0
    spokes = tuple((turn + 360 * k / layout.segments) % 360 for k in range(layout.segments)) if layout.segments else ()
    return Plan(spokes, radii, max((half - margin, *radii)))


def layout_template(layout: Layout, width_mm: float, height_mm: float, rings: int | None = None) -> Template:
    """The sheets of a layout on a panel of that size; raises as :func:`plan_of`."""
    plan = plan_of(layout, width_mm, height_mm, rings)

    def draw(sheets: Sheets) -> None:
        draw_outline(sheets, width_mm, height_mm)
        for radius in plan.radii_mm:
            sheets.circle(0, 0, radius, LINE_MM)
        ends = [(CENTRE_MM * outward(a), plan.reach_mm * outward(a)) for a in plan.spokes_deg]
        sheets.lines(ends, LINE_MM)
        draw_centre(sheets, (0.0, 0.0))
        _name_rings(sheets, plan)

    title = f"Layout for a panel of {width_mm:g} x {height_mm:g} mm"
    return Template(title, panel_bounds(width_mm, height_mm), draw, (*STEPS, BLADE))


def panel_bounds(width_mm: float, height_mm: float) -> tuple[float, float, float, float]:
    """The panel with a little paper around it: left, top, width, height."""
    return (
        -width_mm / 2 - AROUND_MM, -height_mm / 2 - AROUND_MM, width_mm + 2 * AROUND_MM, height_mm + 2 * AROUND_MM,
    )  # fmt: skip


def draw_outline(sheets: Sheets, width_mm: float, height_mm: float) -> None:
    """The panel's outline, the ends of its middle lines, and which side is up."""
    x, y = width_mm / 2, height_mm / 2
    half = LINE_MM / 2
    sheets.lines([((-x - half, -y), (x, -y), (x, y), (-x, y), (-x, -y))], LINE_MM)
    ticks = [((0, -y), (0, -y + 5)), ((x, 0), (x - 5, 0)), ((0, y), (0, y - 5)), ((-x, 0), (-x + 5, 0))]
    sheets.lines(ticks, THIN_MM)
    sheets.text(-x + 4, -y + 5.5, "top left corner of the panel", SMALL_MM, grey=GREY)


def draw_centre(sheets: Sheets, at: Sequence[float]) -> None:
    """A small cross where the pin goes."""
    x, y = at
    arm = CENTRE_MM / 2
    sheets.lines([((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))], LINE_MM)


def _name_rings(sheets: Sheets, plan: Plan) -> None:
    """Each ring's number and radius, on a ray between two spokes."""
    segments = len(plan.spokes_deg)
    angle = (plan.spokes_deg[0] + 180 / segments) if segments else 45.0
    last = 0.0
    for number, radius in enumerate(plan.radii_mm, 1):
        # Where rings or spokes leave no room for the words, the next ring that has some is named.
        crowded = segments > 2 and 2 * radius * math.tan(math.pi / segments) < NAME_MM
        if crowded or radius - last < SMALL_MM * 1.6:
            continue
        last = radius
        x, y = (radius - SMALL_MM * 1.1) * outward(angle)
        sheets.text(float(x), float(y), f"{number}: {radius:.1f}", SMALL_MM, align="centre", grey=GREY, turn_deg=angle)
