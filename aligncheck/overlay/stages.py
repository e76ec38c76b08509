"""The layers of later stages: each is there when the check has found what it draws."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from aligncheck.drift import Drift
from aligncheck.overlay.centrepiece_layer import CentrepieceLayer
from aligncheck.overlay.dot_layer import DotLayer
from aligncheck.overlay.petal_layer import PetalLayer
from aligncheck.overlay.picture import LayerMaker
from aligncheck.overlay.placement_layer import PlacementLayer
from aligncheck.overlay.repeat_layer import RepeatLayer
from aligncheck.words import Seen


def stage_layers(check: Seen) -> Sequence[LayerMaker]:
    """Makers of the layers that this check needs beside those of spokes and rings."""
    makers: list[LayerMaker] = []
    piece, moved = getattr(check, "centrepiece", None), getattr(check, "placement", None)
    rows, repeat = getattr(check, "rows", None), getattr(check, "repeat", None)
    if repeat is not None:
        makers.append(partial(RepeatLayer, repeat=repeat))
    if rows is not None:
        makers.append(partial(PetalLayer, rows=rows))
    if piece is not None:
        makers.append(partial(CentrepieceLayer, drift=check.drift, piece=piece, moved=moved is not None))
    if moved is not None:
        makers.append(partial(PlacementLayer, moved=moved))
    dots = getattr(check, "dots", None)
    if dots is not None:
        makers.append(partial(DotLayer, dots=dots))
    return makers


def drawn_marks(check: Seen) -> Drift:
    """The drift with the marks that are drawn: none where dots are painted, for nobody moves chalk under paint."""
    painted = getattr(check, "dots", None) is not None
    return replace(check.drift, spokes=(), rings=()) if painted else check.drift
