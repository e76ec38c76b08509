"""Every refusal and note in words, by code: one place, so that they can be read together and translated.

A sentence names the cause and the next step, in the painter's words: mm, clock positions, "ring 3".
Values are filled in by name with :meth:`str.format_map`.
"""

from collections.abc import Mapping

REFUSALS: dict[str, str] = {
    "no_panel": "No panel found. Lay it on something lighter or darker, with all four corners in the picture.",
    "panel_cut_off": "The panel is cut off by the edge of the picture. Step back until all four corners show.",
}

NOTES: dict[str, str] = {
    "centre_hidden": "The centre mark is hidden or missing: the point where the spokes meet is used instead.",
}


def phrase(code: str, values: Mapping[str, object]) -> str:
    """Return the sentence for `code`, filled in with `values`; the code itself where no sentence is known."""
    template = REFUSALS.get(code) or NOTES.get(code)
    return template.format_map(dict(values)) if template else code.replace("_", " ")
