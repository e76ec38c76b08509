"""Check the marks on a painter's panel from one phone photo.

>>> import aligncheck
>>> one = aligncheck.check("panel.jpg", panel="12x12in")  # doctest: +SKIP

The names below are all there is to know; each is loaded when it is first used, so `import aligncheck` costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aligncheck.advice import advise
    from aligncheck.batch import Outcome, check_many
    from aligncheck.centrepiece import Centrepiece, find_centrepiece
    from aligncheck.checking import Check, check, measure_margin, place, reach
    from aligncheck.dots import Arrangement, Dot, Dots, find_dots, read_paints
    from aligncheck.drift import Drift, RingDrift, SpokeDrift, measure_drift
    from aligncheck.errors import (
        AligncheckError,
        CentrepieceError,
        InputError,
        MarksError,
        OutputError,
        PanelError,
        PhotoError,
    )
    from aligncheck.joint import JointCheck, check_together
    from aligncheck.layout import Layout, read_layout
    from aligncheck.lens import Lens
    from aligncheck.lens.find import find_lens
    from aligncheck.lens.fit import fit_lens
    from aligncheck.lens.profile import LensProfile, read_profile
    from aligncheck.margin import Margin
    from aligncheck.marks import Marks
    from aligncheck.marks.find import find_marks
    from aligncheck.notes import Note
    from aligncheck.panel import FlatView, Panel, find_panel, flat_view
    from aligncheck.paper.dot_count import dots_on_ring, walked_dots
    from aligncheck.photo import Camera, Photo, read_photo
    from aligncheck.placement import Placement
    from aligncheck.repeat import Repeat, find_repeat
    from aligncheck.result import as_result, result_schema
    from aligncheck.rows import Petal, Rows, find_petals

__version__ = "0.1.0"

_HOME: dict[str, str] = {
    "AligncheckError": "errors",
    "Arrangement": "dots",
    "Camera": "photo",
    "Centrepiece": "centrepiece",
    "CentrepieceError": "errors",
    "Check": "checking",
    "Dot": "dots",
    "Dots": "dots",
    "Drift": "drift",
    "FlatView": "panel",
    "InputError": "errors",
    "JointCheck": "joint",
    "Layout": "layout",
    "Lens": "lens",
    "LensProfile": "lens.profile",
    "Margin": "margin",
    "Marks": "marks",
    "MarksError": "errors",
    "Note": "notes",
    "Outcome": "batch",
    "OutputError": "errors",
    "Panel": "panel",
    "PanelError": "errors",
    "Petal": "rows",
    "Photo": "photo",
    "PhotoError": "errors",
    "Placement": "placement",
    "Repeat": "repeat",
    "RingDrift": "drift",
    "Rows": "rows",
    "SpokeDrift": "drift",
    "advise": "advice",
    "as_result": "result",
    "check": "checking",
    "check_many": "batch",
    "check_together": "joint",
    "dots_on_ring": "paper.dot_count",
    "find_centrepiece": "centrepiece",
    "find_dots": "dots",
    "find_lens": "lens.find",
    "find_marks": "marks.find",
    "find_panel": "panel",
    "find_petals": "rows",
    "find_repeat": "repeat",
    "fit_lens": "lens.fit",
    "flat_view": "panel",
    "measure_drift": "drift",
    "measure_margin": "checking",
    "place": "checking",
    "reach": "checking",
    "read_layout": "layout",
    "read_paints": "dots",
    "read_photo": "photo",
    "read_profile": "lens.profile",
    "result_schema": "result",
    "walked_dots": "paper.dot_count",
}

# The same names once more, written out for `import *` and for type checkers.
__all__ = [
    "AligncheckError", "Arrangement", "Camera", "Centrepiece", "CentrepieceError", "Check", "Dot", "Dots", "Drift",
    "FlatView", "InputError", "JointCheck", "Layout", "Lens", "LensProfile", "Margin", "Marks", "MarksError",
    "Note", "Outcome", "OutputError", "Panel", "PanelError", "Petal", "Photo", "PhotoError", "Placement", "Repeat",
    "RingDrift", "Rows", "SpokeDrift", "advise", "as_result", "check", "check_many", "check_together",
    "dots_on_ring", "find_centrepiece", "find_dots", "find_lens", "find_marks", "find_panel", "find_petals",
    "find_repeat", "fit_lens", "flat_view", "measure_drift", "measure_margin", "place", "reach", "read_layout",
    "read_paints", "read_photo", "read_profile", "result_schema", "walked_dots",
]  # fmt: skip


def __getattr__(name: str) -> object:
    """Load a public name when it is first asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"aligncheck.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
