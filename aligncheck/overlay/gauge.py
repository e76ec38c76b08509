"""The gauge below a close-up: from the centre outward, a tick a ring, a thick bar to the reach, whiskers for its ±."""

from collections.abc import Callable
from dataclasses import dataclass

from aligncheck.centrepiece import Centrepiece
from aligncheck.drift import Drift
from aligncheck.overlay.canvas import Canvas, Lettering
from aligncheck.overlay.colours import PLAN
from aligncheck.overlay.view import Style
from aligncheck.words import phrases
from aligncheck.words.piece import GAUGE_CENTRE, GAUGE_FIGURE

#: In q.
HIGH, SIDE, LINE_AT, TICK, WHISKER = 58.0, 22.0, 32.0, 6.0, 9.0
BAR, THIN, FIGURE, SMALL, BELOW = 5.0, 1.5, 13.5, 11.5, 15.0
#: Rings whose names would touch are named every second, third ... one; room for one name, q.
NAME_ROOM = 16.0
#: The gauge ends where the next ring but one stands, or this share beyond the reach.
BEYOND = 1.25


@dataclass(frozen=True)
class Gauge:
    """A reach and its rings as one straight line."""

    piece: Centrepiece
    drift: Drift

    def draw(self, canvas: Canvas, top_px: float, style: Style) -> None:
        """Draw it along the whole width from `top_px` down."""
        q, theme = canvas.q, style.theme
        left, right, y = SIDE * q, canvas.size[0] - SIDE * q, top_px + LINE_AT * q
        rings = self._rings()
        far = self._far(rings)

        def at(mm: float) -> float:
            return left + (right - left) * min(mm / far, 1.0)

        piece = self.piece
        canvas.stroke([[left, y], [right, y]], THIN, theme.text)
        canvas.stroke([[left, y], [at(piece.reach_mm), y]], BAR, theme.text)
        low, high = (at(piece.reach_mm + s * piece.reach_u95_mm) for s in (-1, 1))
        canvas.stroke([[low, y], [high, y]], THIN, theme.text)
        for x in (low, high):
            canvas.stroke([[x, y - WHISKER * q], [x, y + WHISKER * q]], THIN, theme.text)
        self._names(canvas, rings, at, y, style)
        figure = GAUGE_FIGURE.format(mm=phrases.mm(piece.reach_mm), u95=phrases.plus_minus(piece.reach_u95_mm))
        room = 62.0 * q
        x = min(max(at(piece.reach_mm), left + room), right - room)
        canvas.text(Lettering((x, y - 18.0 * q), figure, FIGURE, theme.text, bold=True))

    def _names(
        self, canvas: Canvas, rings: dict[int, float], at: Callable[[float], float], y: float, style: Style
    ) -> None:
        """Ticks and names of the centre and the rings; the ring that decides is named in any case."""
        q, theme = canvas.q, style.theme
        decides = self.piece.ring or self.piece.ring_near
        canvas.text(Lettering((at(0.0), y + BELOW * q), GAUGE_CENTRE, SMALL, theme.text, left=True))
        last = at(0.0) + 42.0 * q
        for number, radius in rings.items():
            x = at(radius)
            strong = number == decides
            if strong:
                canvas.stroke([[x, y - 1.4 * TICK * q], [x, y + 1.4 * TICK * q]], 4.4, theme.text)
                canvas.stroke([[x, y - 1.4 * TICK * q], [x, y + 1.4 * TICK * q]], 2.6, PLAN)
            else:
                canvas.stroke([[x, y - TICK * q], [x, y + TICK * q]], THIN, theme.text)
            near = decides in rings and not strong and abs(x - at(rings[decides])) < 1.6 * NAME_ROOM * q
            if strong or (x - last > NAME_ROOM * q and not near):
                name = phrases.RING_NAME.format(number=number) if strong else str(number)
                canvas.text(Lettering((x, y + BELOW * q), name, SMALL, theme.text, bold=strong))
                last = x

    def _rings(self) -> dict[int, float]:
        """Radii by number, hidden ones where the spacing puts them."""
        radii = {r.number: r.radius_mm for r in self.drift.rings}
        if self.drift.ring_pitch_mm and radii:
            radii |= {k: k * self.drift.ring_pitch_mm for k in range(1, max(radii)) if k not in radii}
        limit = self._far(radii)
        return {k: r for k, r in sorted(radii.items()) if r <= limit}

    def _far(self, radii: dict[int, float]) -> float:
        """Where the gauge ends, mm."""
        most = self.piece.reach_mm + self.piece.reach_u95_mm
        beyond = sorted(r for r in radii.values() if r > most)
        return max(beyond[min(1, len(beyond) - 1)] if beyond else 0.0, BEYOND * most)
