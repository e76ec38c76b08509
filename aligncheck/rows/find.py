"""The front of this package: photo and drift in, rows of petals out."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift
from aligncheck.geometry.angles import bearing
from aligncheck.geometry.uncertainty import u95_point
from aligncheck.panel import Panel
from aligncheck.panel.panel_sides import panel_sides
from aligncheck.photo import Photo
from aligncheck.rows.absent import absent, hidden
from aligncheck.rows.begun import begun_rows
from aligncheck.rows.chalk_map import ChalkMap, chalk_map
from aligncheck.rows.fit import RowFit, sides
from aligncheck.rows.fold import INNERMOST_MM
from aligncheck.rows.petals import SHORT_MM, Petal, Place, Row, Rows
from aligncheck.rows.search import SHORTEST_MM
from aligncheck.rows.sets import distinct
from aligncheck.rows.tails import ends
from aligncheck.rows.traces import traces
from aligncheck.rows.whole import is_row, there_of, whole_rows

Floats = NDArray[np.float64]

#: Fewer segments do not repeat often enough to be told from chance.
LEAST_SEGMENTS = 3
#: From the panel's side, mm: there its edge is a line too.
EDGE_MM = 3.0
#: Where the axes of a row's petals lie, in halves of a segment from a spoke.
PLACES: dict[float, Place] = {0.0: "on spokes", 0.5: "beside spokes", 1.0: "between spokes", 1.5: "beside spokes"}
#: How often rows are looked for of which only some petals are traced: those found may have hidden others.
MOST_BEGUN = 4


def find_petals(photo: Photo, drift: Drift, *, short_mm: float = SHORT_MM, insist: bool = False) -> Rows | None:
    """Find rows of traced petals between or on the spokes; None where there are none.

    Parameters
    ----------
    photo : Photo
    drift : Drift
        Of the marks in this photo: centre, segments, rotation, and the lines that are known.
    short_mm : float
        From how far inside its row's median tip a petal is short.
    insist : bool
        Look closely even where a cheap look sees nothing.
    """
    marks, segments = drift.marks, drift.layout.segments or 0
    if segments < LEAST_SEGMENTS or drift.rotation_deg is None:
        return None
    if not insist and not traces(photo, marks).rows_likely:
        return None
    panel, centre = marks.panel, np.array(drift.centre_mm)
    outermost = min(panel.width_mm / 2 - abs(centre[0]), panel.height_mm / 2 - abs(centre[1])) - EDGE_MM
    if outermost < INNERMOST_MM + 2 * SHORTEST_MM:
        return None
    chalk = chalk_map(photo, marks)
    kept = whole_rows(chalk, centre, segments, drift.rotation_deg, outermost)
    for _ in range(MOST_BEGUN):
        begun = begun_rows(chalk, kept, centre, drift.rotation_deg, segments, outermost)
        begun = [fit for fit in begun if is_row(fit)]
        if not begun:
            break
        kept = distinct(chalk, [*kept, *begun], np.pi / segments)
    kept = [_where_chalk_ends(chalk, fit, photo, panel) for fit in kept]
    kept.sort(key=lambda fit: float(np.median(fit.numbers[:, 1])))
    rows = tuple(_row(k, fit, photo, drift, short_mm) for k, fit in enumerate(kept, 1))
    return Rows(rows, short_mm, absent(rows, segments)) if rows else None


def _where_chalk_ends(chalk: ChalkMap, fit: RowFit, photo: Photo, panel: Panel) -> RowFit:
    """The row with the tips of petals that stop early where they stop; what glare hides is no end."""
    tips = ends(chalk, fit)
    between = fit.numbers[:, None, 0:2] + np.linspace(0, 1, 5)[:, None] * (tips - fit.numbers[:, 0:2])[:, None]
    glare = np.stack([hidden(photo, panel, fit.frame.to_panel(between)[:, k]) for k in range(5)]).any(axis=0)
    numbers = fit.numbers.copy()
    numbers[:, 0:2] = np.where(np.reshape(glare, (-1, 1)), numbers[:, 0:2], tips)
    return replace(fit, numbers=numbers)


def _row(number: int, fit: RowFit, photo: Photo, drift: Drift, short_mm: float) -> Row:
    """One row with its petals in panel mm."""
    panel, centre = drift.marks.panel, np.array(drift.centre_mm)
    tips = fit.frame.to_panel(fit.numbers[:, None, 0:2])[:, 0]
    there = there_of(fit)
    clear = there & ~hidden(photo, panel, tips)
    there = clear if clear.any() else there
    radii = np.hypot(*(tips - centre).T)
    middle = float(np.median(radii[there]))
    petals = tuple(_petal(int(k), number, fit, tips[k], middle, panel, short_mm) for k in np.flatnonzero(there))
    # Which petal of the frame comes closest to which side.
    edge, closest, side = min(
        ((float(side.away(tips[k])), int(k), side) for side in panel_sides(panel) for k in np.flatnonzero(there)),
        key=lambda one: one[0],
    )
    edge_variance = side.inward @ _tip_spread(closest, fit) @ side.inward + side.map_variance(panel, tips[closest])
    even = radii[there & (middle - radii < short_mm)]
    # Of the middle petals: a short one moves the median no further than any other does.
    spread = 1.48 * float(np.median(np.abs(radii[there] - middle)))
    own = 1.96 * 1.25 * spread / np.sqrt(there.sum())
    return Row(
        number,
        middle,
        float(np.hypot(own, 1.96 * fit.common_sd_mm)),
        PLACES[fit.shape.between],
        edge,
        petals,
        float(1.96 * np.sqrt(edge_variance)),
        side.name,
        int(fit.frame.places[closest]) + 1,
        float(np.std(even)) if len(even) > 1 else None,
    )


def _petal(k: int, row: int, fit: RowFit, tip: Floats, middle: float, panel: Panel, short_mm: float) -> Petal:
    frame, numbers = fit.frame, fit.numbers[k]
    arm = tip - frame.centre_mm
    radius = float(np.hypot(*arm))
    inward = middle - radius
    points, _ = sides(fit.shape, fit.numbers[k : k + 1], np.linspace(0.02, 1, 25) ** 1.5)
    reach = np.abs(points[0, :, :, 0] - numbers[0]).max(1)
    outline = frame.to_panel(
        np.broadcast_to(np.concatenate([points[0, 1, ::-1], points[0, 0, 1:]]), (len(fit.numbers), 49, 2))
    )[k]
    bases = frame.to_panel(np.broadcast_to(numbers[2:6].reshape(2, 2), (len(fit.numbers), 2, 2)))[k]
    sd = np.sqrt(np.diag(fit.covariance[k])[:2])
    return Petal(
        row=row,
        segment=int(frame.places[k]) + 1,
        tip_mm=tip,
        tip_u95_mm=u95_point(_tip_spread(k, fit) + panel.point_covariance(tip)),
        radius_mm=radius,
        angle_deg=float(bearing(arm)),
        ideal_radius_mm=middle,
        ideal_deg=float(bearing(frame.outward[k])),
        inward_mm=inward,
        inward_u95_mm=float(1.96 * sd[1]),
        aside_mm=float(numbers[0]),
        aside_u95_mm=float(1.96 * sd[0]),
        base_mm=bases,
        width_mm=float(reach.sum()),
        balance_mm=float(reach[0] - reach[1]),
        short=inward >= short_mm,
        outline_mm=outline,
    )


def _tip_spread(k: int, fit: RowFit) -> Floats:
    """Covariance (2, 2) in mm^2 of a petal's tip on the panel, by itself and with its row, without the map's."""
    out = fit.frame.outward[k]
    axes = np.column_stack([fit.frame.clockwise[k], out])
    return np.asarray(axes @ fit.covariance[k, :2, :2] @ axes.T + fit.common_sd_mm**2 * np.outer(out, out), float)
