"""Chalk of known lines is no paint: where one segment shows it and another shows bare panel, nothing departs."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import lab_of
from aligncheck.geometry.angles import outward
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.srgb import linear
from aligncheck.marks import Marks, Ring, Spoke

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Beside a line its chalk reaches this far: ragged edges and the line's own bow, mm.
BESIDE_MM = 0.8
#: Lines are looked for so far beyond their ends, mm: hands stop early or late.
BEYOND_MM = 4.0
#: Chalk on the panel is a mixture of both, its share up to somewhat more than usual; so far off it is paint (CIELAB).
SHARES, OFF_MIXTURE = np.linspace(0, 1.4, 15), 7.0


@dataclass(frozen=True)
class Chalk:
    """Lines drawn about `centre_mm`; spokes stand in `segments` places."""

    centre_mm: Floats = field(default_factory=lambda: np.zeros(2))
    segments: int = 0
    spokes: Sequence[Spoke] = ()
    rings: Sequence[Ring] = ()

    @classmethod
    def of(cls, marks: Marks | None, centre_mm: Floats) -> "Chalk":
        """Those of the marks; none where there are no marks."""
        return cls(centre_mm) if marks is None else cls(centre_mm, marks.segments, marks.spokes, marks.rings)

    def hidden(self, lab: Singles, bare_lab: Singles, consensus: Singles, xy_mm: Floats) -> Mask:
        """Where (radii, segments, columns) segment and consensus show nothing but chalk of the lines, or bare panel."""
        beside = self._beside_mm(xy_mm)
        core = beside < 0
        if not core.any():
            return np.zeros(beside.shape, bool)
        seen = lab - bare_lab
        strength = lengths(seen)
        strong = core & (strength >= np.median(strength[core]))
        steps = _mixtures(np.median(bare_lab[core], axis=0), np.median(seen[strong], axis=0))
        near = beside < BESIDE_MM
        return near & _is_mixture(seen, steps) & _is_mixture(consensus[:, None] - bare_lab, steps)

    def _beside_mm(self, xy_mm: Floats) -> Singles:
        """Distance (...) of places (..., 2) from the nearest line's edge; negative on a line, large far off."""
        x, y = (np.ascontiguousarray(xy_mm[..., k], np.float32) for k in (0, 1))
        found = np.full(x.shape, np.inf, np.float32)
        for ring in self.rings:
            off = np.abs(np.hypot(x - ring.centre_mm[0], y - ring.centre_mm[1]) - ring.radius_mm)
            np.minimum(found, off - ring.width_mm / 2, out=found)
        for start, end, width in self._straight():
            length = max(float(np.hypot(*(end - start))), 1e-9)
            ax, ay = ((end - start) / length).tolist()
            middle = (start + end) / 2
            far = x * ax + y * ay - float(middle @ (ax, ay))
            aside = y * ax - x * ay - float(middle @ (-ay, ax))
            off = np.where(np.abs(far) < length / 2 + BEYOND_MM, np.abs(aside) - width / 2, np.inf)
            np.minimum(found, off, out=found)
        return found

    def _straight(self) -> list[tuple[Floats, Floats, float]]:
        """Every spoke as drawn, and where the consensus has it in that segment."""
        drawn = [(s.inner_mm, s.outer_mm, s.width_mm) for s in self.spokes]
        if not drawn or not self.segments:
            return drawn
        ends = np.array([s.outer_mm for s in self.spokes]) - self.centre_mm
        turn = np.exp(1j * self.segments * np.arctan2(ends[:, 0], -ends[:, 1]))
        first = float(np.degrees(np.angle(np.median(turn.real) + 1j * np.median(turn.imag)))) / self.segments
        inner = min(float(np.hypot(*(s.inner_mm - self.centre_mm))) for s in self.spokes)
        outer = float(np.hypot(*ends.T).max())
        width = float(np.median([w for *_, w in drawn]))
        rays = [outward(first + 360.0 * k / self.segments) for k in range(self.segments)]
        return drawn + [(self.centre_mm + inner * ray, self.centre_mm + outer * ray, width) for ray in rays]


def _mixtures(bare: Singles, chalk: Singles) -> Singles:
    """Steps (shares, 3) from bare panel to ever more of the chalk whose own step is `chalk` (3,).

    Light adds, colours as they are seen do not: between a navy panel and white chalk they run in a bow.
    """
    ends = cv2.cvtColor(np.stack([bare, bare + chalk])[None].astype(np.float32), cv2.COLOR_Lab2RGB)[0]
    low, high = linear(ends)
    mixed = np.clip(low + SHARES[:, None] * (high - low), 0, None)
    return lab_of(np.cbrt(mixed)[None].astype(np.float32))[0] - bare


def _is_mixture(step: Singles, mixtures: Singles) -> Mask:
    """Which steps (..., 3) from the bare panel are like one of the mixtures' (n, 3)."""
    found = np.zeros(step.shape[:-1], bool)
    for mixture in mixtures:
        found |= lengths(step - mixture) < OFF_MIXTURE
    return found
