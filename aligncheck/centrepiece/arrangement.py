"""How the arrangement lies against the spokes: off-centre and turn."""

import numpy as np

from aligncheck.centrepiece.centrepiece import Arrangement
from aligncheck.centrepiece.outline import centroid
from aligncheck.centrepiece.plan import plan_of
from aligncheck.centrepiece.window import Floats
from aligncheck.drift import Drift
from aligncheck.geometry.angles import bearing

#: Repeats that are looked for, and the share of the outline's ups and downs that one must explain.
ORDERS, EXPLAINS = range(2, 33), 0.3
#: 95 % half-width of the middle of an outline, mm, and of a turn's phase, degrees times the order's share.
MIDDLE_U95_MM, EDGE_MM = 0.2, 0.15
SAMPLES = 720


def arrangement_of(outline_mm: Floats, drift: Drift, heights_mm: tuple[float, float]) -> Arrangement:
    """Measure one outline's plan; its middle moves with the height as far as it lies off the camera's foot."""
    camera, centre = drift.marks.panel.camera_position_mm, np.array(drift.centre_mm)
    lowest, highest = (centroid(plan_of(outline_mm, camera, h)) for h in heights_mm)
    plan = plan_of(outline_mm, camera, sum(heights_mm) / 2)
    middle = centroid(plan)
    spread = 0.95 * float(np.hypot(*(highest - lowest))) / 2
    u95 = float(np.sqrt(MIDDLE_U95_MM**2 + drift.centre_u95_mm**2) + spread)
    off = (float(middle[0] - centre[0]), float(middle[1] - centre[1]))
    repeat = _repeat(plan - middle)
    if repeat is None or drift.rotation_deg is None or not drift.marks.segments:
        return Arrangement(off, u95)
    order, phase, u95_deg = repeat
    tips = phase + 360.0 / order * np.arange(order)
    spokes = drift.rotation_deg + 360.0 / drift.marks.segments * np.arange(drift.marks.segments)
    apart = (tips[:, None] - spokes + 180.0) % 360.0 - 180.0
    nearest = float(apart.ravel()[np.abs(apart).argmin()])
    return Arrangement(off, u95, order, nearest, float(np.hypot(u95_deg, drift.rotation_u95_deg or 0.0)))


def _repeat(about_middle: Floats) -> tuple[int, float, float] | None:
    """Order of the outline's repeat, bearing of a tip and its 95 % half-width; None where it does not repeat."""
    angle, radius = bearing(about_middle), np.hypot(*about_middle.T)
    ray = np.arange(SAMPLES) * 360.0 / SAMPLES
    # The farthest point on each ray, so that overhanging petals count once.
    farthest = np.zeros(SAMPLES)
    np.maximum.at(farthest, (np.rint(angle / 360.0 * SAMPLES).astype(int)) % SAMPLES, radius)
    known = farthest > 0
    if known.mean() < 0.5:
        return None
    profile = np.interp(ray, ray[known], farthest[known], period=360.0)
    waves = np.fft.rfft(profile) / SAMPLES
    power = 2 * np.abs(waves) ** 2
    total = float(power[1:].sum())
    if total <= 0:
        return None
    # A repeat of n shows in n, 2n, 3n: its own wave must lead and all of them together explain the outline.
    shares = {n: float(power[n::n].sum()) / total for n in ORDERS if 3 * n < len(power)}
    order = max(shares, key=lambda n: power[n])
    if shares[order] < EXPLAINS:
        return None
    amplitude = 2 * abs(waves[order])
    phase = -np.degrees(np.angle(waves[order])) / order
    rest = float(np.sqrt(max(total - shares[order] * total, 0.0)))
    # A cosine of this amplitude in scatter `rest`, about so many independent pieces of edge round the outline.
    pieces = max(8, 2 * order)
    u95 = np.degrees(1.96 * np.sqrt(2 / pieces) * np.hypot(rest, EDGE_MM) / max(amplitude, 1e-6)) / order
    return order, float(phase % 360.0), float(u95)
