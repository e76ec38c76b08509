"""A finished check as the result file's plain dictionary; the keys are fixed, see schema.json beside this file."""

from typing import TYPE_CHECKING, Any, Protocol

from aligncheck.geometry.uncertainty import u95_number
from aligncheck.result.numbers import number, pair

if TYPE_CHECKING:
    # What is written is only read here: whoever names files and tables need not load what measures.
    from aligncheck.centrepiece import Centrepiece
    from aligncheck.drift import Drift, RingDrift, SpokeDrift
    from aligncheck.marks import Marks
    from aligncheck.notes import Note
    from aligncheck.panel import Panel
    from aligncheck.photo import Photo
    from aligncheck.placement import Placement

SCHEMA_NAME = "aligncheck-result-1"


class Checked(Protocol):
    """What a finished check must have; :class:`aligncheck.Check` does."""

    @property
    def photo(self) -> "Photo": ...  # noqa: D102
    @property
    def panel(self) -> "Panel": ...  # noqa: D102
    @property
    def marks(self) -> "Marks": ...  # noqa: D102
    @property
    def drift(self) -> "Drift": ...  # noqa: D102
    @property
    def stage(self) -> str: ...  # noqa: D102
    @property
    def notes(self) -> "tuple[Note, ...]": ...  # noqa: D102


def as_result(check: Checked) -> dict[str, Any]:
    """Lay a check out under the fixed keys; unknown is None, never zero."""
    drift = check.drift
    piece, moved = getattr(check, "centrepiece", None), getattr(check, "placement", None)
    return {
        "schema": SCHEMA_NAME,
        "stage": check.stage,
        "photo": photo_part(check.photo),
        "lens": lens_part(check.panel),
        "panel": panel_part(check.panel),
        "centre": _centre_part(check),
        "spokes_meet": _point_part(drift.spokes_meet_mm, drift.spokes_meet_u95_mm),
        "segments": drift.layout.segments or check.marks.segments or None,
        "rotation_deg": number(drift.rotation_deg),
        "rotation_u95_deg": number(drift.rotation_u95_deg),
        "tolerance_mm": number(drift.tolerance_mm),
        "centre_off_panel_mm": number(drift.centre_off_panel_mm),
        "centre_off_panel_u95_mm": number(drift.centre_off_panel_u95_mm),
        "ring_pitch_mm": number(drift.ring_pitch_mm),
        "spokes": [_spoke_part(s) for s in drift.spokes],
        "rings": [_ring_part(r) for r in drift.rings],
        **({"centrepiece": centrepiece_part(piece)} if piece else {}),
        **({"placement": placement_part(moved)} if moved else {}),
        **later_parts(check),
        "notes": [{"code": n.code, "text": n.text} for n in check.notes],
    }


def later_parts(check: Checked) -> dict[str, Any]:
    """The keys of the later stages that this check shows; what writes them is loaded with them."""
    rows, repeat = getattr(check, "rows", None), getattr(check, "repeat", None)
    dots, margin = getattr(check, "dots", None), getattr(check, "margin", None)
    parts: dict[str, Any] = {}
    if rows:
        from aligncheck.result.later_parts import petal_rows_part, petals_part

        parts |= {"petals": petals_part(rows), "petal_rows": petal_rows_part(rows)}
    if repeat:
        from aligncheck.result.later_parts import repeat_part

        parts["repeat"] = repeat_part(repeat)
    if dots:
        from aligncheck.result.dot_parts import dots_part

        parts |= dots_part(dots)
    if margin:
        from aligncheck.result.margin_part import margin_part

        parts["margin"] = margin_part(margin)
    return parts


def photo_part(photo: "Photo") -> dict[str, Any]:
    """The photo by name, content and what its camera said."""
    return {
        "file": photo.path.name if photo.path else None,
        "sha256": photo.sha256,
        "width_px": photo.width_px,
        "height_px": photo.height_px,
        "taken": photo.taken,
        "f35_mm": number(photo.camera.f35_mm),
    }


def lens_part(panel: "Panel") -> dict[str, Any]:
    """The lens through which the panel was seen."""
    lens = panel.lens
    return {
        "source": lens.source,
        "focal_px": number(lens.focal_px),
        "cx_px": number(lens.cx_px),
        "cy_px": number(lens.cy_px),
        "k1": number(lens.k1, 8),
        "k1_u95": number(u95_number(panel.covariance[8, 8]), 8),
        "k2": number(lens.k2, 8),
        "k2_u95": number(u95_number(panel.covariance[9, 9]), 8),
    }


def panel_part(panel: "Panel") -> dict[str, Any]:
    """Size, corners and map, and what round rings say of its shape, whatever is usual."""
    shape = panel.squareness
    return {
        "width_mm": number(panel.width_mm),
        "height_mm": number(panel.height_mm),
        "corners_px": [pair(c) for c in panel.corners_px],
        "corner_u95_mm": [number(u) for u in panel.corner_u95_mm],
        # Where round rings say that it was cut, which on a panel out of square is not where its size would have them.
        "corners_mm": [pair(c) for c in panel.corners_mm],
        "diagonals_differ_mm": number(shape.diagonals_mm) if shape else None,
        "diagonals_differ_u95_mm": number(shape.diagonals_u95_mm) if shape else None,
        "too_wide_mm": number(shape.too_wide_mm) if shape else None,
        "too_wide_u95_mm": number(shape.too_wide_u95_mm) if shape else None,
        # All digits: whoever maps with it must come to the same tenth of a micrometre.
        "photo_to_panel": [[float(v) for v in row] for row in panel.photo_to_panel],
    }


def centrepiece_part(piece: "Centrepiece") -> dict[str, Any]:
    """What lies on the panel: outlines and `seen_` figures as the photo shows them, the others of the piece itself."""
    own = piece.arrangement
    return {
        "seen_reach_mm": number(piece.seen_reach_mm),
        "seen_reach_u95_mm": number(piece.seen_reach_u95_mm),
        "seen_reach_deg": number(piece.seen_reach_deg),
        "reach_mm": number(piece.reach_mm),
        "reach_u95_mm": number(piece.reach_u95_mm),
        "reach_deg": number(piece.reach_deg),
        "height_mm": [number(h) for h in piece.height_mm],
        "ring": piece.ring,
        "ring_near": piece.ring_near,
        "ring_spare_mm": number(piece.ring_spare_mm),
        "start_radius_mm": number(piece.start_radius_mm),
        "clearance_mm": number(piece.clearance_mm),
        "segment_reaches": [
            {"from_deg": number(s.from_deg), "reach_mm": number(s.reach_mm), "reach_u95_mm": number(s.reach_u95_mm)}
            for s in piece.segments
        ],
        "off_centre_mm": pair(own.off_centre_mm),
        "off_centre_u95_mm": number(own.off_centre_u95_mm),
        "order": own.order,
        "turn_deg": number(own.turn_deg),
        "turn_u95_deg": number(own.turn_u95_deg),
        "doubtful": piece.doubtful,
        "outline_mm": [pair(p) for p in piece.outline_mm],
        "pieces_mm": [[pair(p) for p in outline] for outline in piece.pieces_mm],
    }


def placement_part(moved: "Placement") -> dict[str, Any]:
    """How the piece was moved, in the earlier photo's frame; `back_mm` and `tips_mm` put it back, in the present's."""
    return {
        "dx_mm": number(moved.dx_mm),
        "dx_u95_mm": number(moved.dx_u95_mm),
        "dy_mm": number(moved.dy_mm),
        "dy_u95_mm": number(moved.dy_u95_mm),
        "turn_deg": number(moved.turn_deg),
        "turn_u95_deg": number(moved.turn_u95_deg),
        "quarter_turns": moved.quarters,
        "back_mm": pair(moved.back_mm),
        "tips_mm": number(moved.tips_mm),
        "tips_u95_mm": number(moved.tips_u95_mm),
        "height_mm": number(moved.height_mm),
        "height_u95_mm": number(moved.height_u95_mm),
        "matches": moved.matches,
        "earlier_outline_mm": [pair(p) for p in moved.earlier_outline_mm],
    }


def _centre_part(check: Checked) -> dict[str, Any]:
    centre = _point_part(check.drift.centre_mm, check.drift.centre_u95_mm)
    at_panel = check.drift.layout.centre == "panel"
    return {**centre, "source": "panel" if at_panel else check.marks.centre.source}


def _point_part(point: tuple[float, float] | None, u95_mm: float | None) -> dict[str, float | None]:
    x, y = (None, None) if point is None else point
    return {"x_mm": number(x), "y_mm": number(y), "u95_mm": number(u95_mm)}


def _spoke_part(spoke: "SpokeDrift") -> dict[str, Any]:
    strokes = [
        {
            "inner_mm": pair(s.inner_mm),
            "outer_mm": pair(s.outer_mm),
            "angle_deg": number(s.angle_deg),
            "angle_u95_deg": number(s.angle_u95_deg),
        }
        for s in spoke.strokes
    ]
    return {
        "angle_deg": number(spoke.angle_deg),
        "angle_u95_deg": number(spoke.angle_u95_deg),
        "ideal_deg": number(spoke.ideal_deg),
        "drift_deg": number(spoke.drift_deg),
        "drift_u95_deg": number(spoke.drift_u95_deg),
        "inner_mm": pair(spoke.spoke.inner_mm),
        "outer_mm": pair(spoke.spoke.outer_mm),
        "miss_mm": number(spoke.miss_mm),
        "miss_u95_mm": number(spoke.miss_u95_mm),
        "move_mm": number(spoke.move_mm),
        "move_u95_mm": number(spoke.move_u95_mm),
        "verdict": spoke.verdict,
        "strokes": strokes,
    }


def _ring_part(ring: "RingDrift") -> dict[str, Any]:
    return {
        "number": ring.number,
        "centre_mm": pair(ring.ring.centre_mm),
        "radius_mm": number(ring.radius_mm),
        "radius_u95_mm": number(ring.radius_u95_mm),
        "roundness_mm": number(ring.roundness_mm),
        "ideal_radius_mm": number(ring.ideal_radius_mm),
        "drift_mm": number(ring.drift_mm),
        "drift_u95_mm": number(ring.drift_u95_mm),
        "off_centre_mm": number(ring.off_centre_mm),
        "off_centre_u95_mm": number(ring.off_centre_u95_mm),
        "verdict": ring.verdict,
    }
