"""The full table: every figure, degrees too, for those who ask for it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from aligncheck.drift import Drift
from aligncheck.units import clock
from aligncheck.words import phrases
from aligncheck.words.ranking import places
from aligncheck.words.seen import Seen

if TYPE_CHECKING:
    from aligncheck.dots import Arrangement

SPOKE_HEADS = ("spoke", "stands at °", "plan °", "off by °", "move mm", "passes centre mm", "")
DOT_HEADS = ("dots at mm", "of", "size mm", "gap mm", "uneven mm", "least even mm", "")
RING_HEADS = ("ring", "radius mm", "plan mm", "off by mm", "off centre mm", "out of round mm", "")


def table(check: Seen) -> str:
    """Lay out every figure in columns; positive is clockwise, or too far out.

    "move" is what mends the outer end, "passes centre" how far the spoke's line misses the centre.
    """
    drift = check.drift
    blocks = [_columns([SPOKE_HEADS, *_spoke_rows(drift)])] if drift.spokes else []
    blocks += [_columns([RING_HEADS, *_ring_rows(drift)])] if drift.rings else []
    dots = getattr(check, "dots", None)
    if dots is not None and dots.arrangement is not None and dots.arrangement.rings:
        blocks.append(_columns([DOT_HEADS, *_dot_rows(dots.arrangement)]))
    blocks.append("\n".join(_whole(drift)))
    return "\n\n".join(blocks)


def _spoke_rows(drift: Drift) -> list[tuple[str, ...]]:
    """One row for each spoke, clockwise."""
    return [
        (
            place,
            f"{s.angle_deg:.2f} ± {s.angle_u95_deg:.2f}",
            f"{s.ideal_deg:.2f}",
            f"{s.drift_deg:+.2f} ± {s.drift_u95_deg:.2f}",
            f"{s.move_mm:+.2f} ± {s.move_u95_mm:.2f}",
            f"{s.miss_mm:+.2f} ± {s.miss_u95_mm:.2f}",
            phrases.TABLE_VERDICT[s.verdict],
        )
        for place, s in zip(places(drift), drift.spokes, strict=True)
    ]


def _ring_rows(drift: Drift) -> list[tuple[str, ...]]:
    """One row for each ring, outward."""
    return [
        (
            str(r.number),
            f"{r.radius_mm:.2f} ± {r.radius_u95_mm:.2f}",
            f"{r.ideal_radius_mm:.2f}",
            f"{r.drift_mm:+.2f} ± {r.drift_u95_mm:.2f}",
            f"{r.off_centre_mm:.2f} ± {r.off_centre_u95_mm:.2f}",
            f"{r.roundness_mm:.2f}",
            phrases.TABLE_VERDICT[r.verdict],
        )
        for r in drift.rings
    ]


def _dot_rows(arrangement: "Arrangement") -> list[tuple[str, ...]]:
    """One row for each ring of dots, outward."""
    return [
        (
            f"{r.radius_mm:.1f}",
            f"{r.count}/{r.places}",
            f"{r.diameter_mm:.2f}",
            *("-" if v is None else f"{v:.2f}" for v in (r.gap_mm, r.uneven_mm)),
            "-" if r.closing_off_mm is None else f"{r.closing_off_mm:+.2f}",
            "" if r.closing_deg is None else clock(r.closing_deg),
        )
        for r in arrangement.rings
    ]


def _whole(drift: Drift) -> list[str]:
    """The figures that belong to the whole layout."""
    x, y = drift.centre_mm
    lines = [
        f"centre: {drift.centre_off_panel_mm:.2f} ± {drift.centre_off_panel_u95_mm:.2f} mm from the panel's middle "
        f"({_sideways(x)}, {_upward(y)})"
    ]
    if drift.spokes_meet_mm is not None and drift.spokes_meet_u95_mm is not None:
        dx, dy = drift.spokes_meet_mm[0] - x, drift.spokes_meet_mm[1] - y
        lines.append(f"spokes meet: {_sideways(dx)}, {_upward(dy)} of the centre, ± {drift.spokes_meet_u95_mm:.2f} mm")
    if drift.rotation_deg is not None and drift.rotation_u95_deg is not None:
        lines.append(f"layout turned: {drift.rotation_deg:.2f} ± {drift.rotation_u95_deg:.2f} ° past 12 o'clock")
    if drift.ring_pitch_mm is not None:
        lines.append(f"from ring to ring: {drift.ring_pitch_mm:.2f} mm")
    lines.append(f"tolerance: {drift.tolerance_mm:.2f} mm")
    return lines


def _sideways(x_mm: float) -> str:
    """A shift in x in words."""
    return f"{abs(x_mm):.2f} mm {'right' if x_mm > 0 else 'left'}"


def _upward(y_mm: float) -> str:
    """A shift in y (down is positive) in words."""
    return f"{abs(y_mm):.2f} mm {'down' if y_mm > 0 else 'up'}"


def _columns(rows: Sequence[tuple[str, ...]]) -> str:
    """Set `rows` in columns, the first to the left, figures to the right."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    last = len(widths) - 1

    def cell(row: tuple[str, ...], k: int) -> str:
        return row[k].ljust(widths[k]) if k in (0, last) else row[k].rjust(widths[k])

    return "\n".join("  ".join(cell(row, k) for k in range(len(widths))).rstrip() for row in rows)
