"""The verdicts' outlines as SVG, told apart in black alone; real arcs, so that print shows no facets."""

from math import cos, radians, sin

_BEADS = "".join(
    f'<circle cx="{20 + 14 * sin(radians(30 * k)):.2f}" cy="{20 - 14 * cos(radians(30 * k)):.2f}" r="2.4"/>'
    for k in range(12)
)

#: Inside of an SVG with the viewBox 0 0 40 40, by kind of verdict.
ICONS: dict[str, str] = {
    "fits": f'<g class="solid">{_BEADS}</g><path class="stroke" d="M14.5 20.5l4 4.5l7.5-10"/>',
    "move": '<path class="act" d="M6 31A19 19 0 0 1 22 13V6.5L36 17L22 27.5V21A11.5 11.5 0 0 0 13 33z"/>'
    '<circle class="solid" cx="8.6" cy="33.4" r="3.2"/>',
    "unsure": '<path class="dash" d="M20 4L36 20L20 36L4 20z"/>'
    '<text class="b" x="20" y="26" text-anchor="middle">?</text>',
    "refused": '<rect class="stroke" x="6" y="6" width="28" height="28"/>'
    '<text class="b" x="20" y="26.5" text-anchor="middle">!</text>',
    "piece": '<circle class="dash" cx="20" cy="20" r="15"/><path class="stroke" d="M20 20L29 11"/>'
    '<circle class="solid" cx="20" cy="20" r="2.6"/>',
    "dots": '<circle class="dash" cx="20" cy="9" r="6"/><circle class="solid" cx="9" cy="27" r="5.4"/>'
    '<circle class="act" cx="28" cy="27" r="8"/>',
}


def icon(kind: str) -> str:
    """The outline of a verdict; words stand beside it, so it says nothing to a screen reader."""
    inside = ICONS.get(kind, ICONS["piece"])
    return f'<svg class="icon" viewBox="0 0 40 40" aria-hidden="true" focusable="false">{inside}</svg>'
