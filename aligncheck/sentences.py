"""Every refusal and note in words, by code: one place, so that they can be read together and translated.

A sentence names the cause and the next step, in the painter's words: mm, clock positions, "ring 3".
Values are filled in by name with :meth:`str.format_map`.
"""

from collections.abc import Mapping

REFUSALS: dict[str, str] = {
    # reading the photo
    "file_missing": "{file}: there is no such file. Check the name and the folder.",
    "file_is_folder": "{file} is a folder. Name the photos in it, such as {file}/*.jpg.",
    "file_no_permission": "{file} may not be read. Ask its owner for permission, or copy the photo to a folder of yours.",
    "file_unreadable": "{file} cannot be read ({reason}). Copy the photo to this computer and try again.",
    "file_empty": "{file} is empty. Copy the photo again; the transfer may have been cut short.",
    "file_too_large": "{file} is larger than {limit} MB. Save it as JPEG and try again.",
    "not_a_picture": "{file} is not a picture that can be read. Give a JPEG, HEIC, PNG, TIFF or WebP photo.",
    "picture_damaged": "{file} is damaged or cut short. Copy the photo again from the phone.",
    "too_many_pixels": "{file} has {megapixels} megapixels; the limit is {limit}. Save it smaller and try again.",
    "out_of_memory": "{file} needs more memory than this computer has free. Save it smaller, or close other programs.",
    "no_panel": "No panel found. Lay it on something lighter or darker, with all four corners in the picture.",
    "panel_cut_off": "The panel is cut off by the edge of the picture. Step back until all four corners show.",
}

NOTES: dict[str, str] = {
    "centre_hidden": "The centre mark is hidden or missing: the point where the spokes meet is used instead.",
}


def phrase(code: str, values: Mapping[str, object]) -> str:
    """Return the sentence for `code`, filled in with `values`; the code itself where no sentence is known."""
    template = REFUSALS.get(code) or NOTES.get(code) or code.replace("_", " ").capitalize() + "."
    return template.format_map(_Known(values))


class _Known(dict[str, object]):
    """Values by name; a value that nobody gave must not turn a refusal into a crash."""

    def __missing__(self, name: str) -> str:
        return "?"
