"""The layers of later stages: each is there when the check has found what it draws."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from aligncheck.drift import Drift
from aligncheck.overlay.picture import LayerMaker
from aligncheck.words.seen import Seen, chalk_counts


def stage_layers(check: Seen) -> Sequence[LayerMaker]:
    """Makers of the layers that this check needs beside those of spokes and rings.

    Each layer is loaded where there is something for it to draw: most photos show marks alone.
    """
    makers: list[LayerMaker] = []
    piece, moved = getattr(check, "centrepiece", None), getattr(check, "placement", None)
    rows, repeat = getattr(check, "rows", None), getattr(check, "repeat", None)
    if repeat is not None:
        from aligncheck.overlay.repeat_layer import RepeatLayer
        from aligncheck.words.told import untold

        makers.append(partial(RepeatLayer, repeat=repeat, places=untold(check)))
    if rows is not None:
        from aligncheck.overlay.petal_layer import PetalLayer

        makers.append(partial(PetalLayer, rows=rows))
    if piece is not None:
        from aligncheck.overlay.centrepiece_layer import CentrepieceLayer

        makers.append(partial(CentrepieceLayer, drift=check.drift, piece=piece, moved=moved is not None))
    if moved is not None:
        from aligncheck.overlay.placement_layer import PlacementLayer

        makers.append(partial(PlacementLayer, moved=moved))
    dots = getattr(check, "dots", None)
    if dots is not None:
        from aligncheck.overlay.dot_layer import DotLayer

        makers.append(partial(DotLayer, dots=dots))
    return makers


def drawn_marks(check: Seen) -> Drift:
    """The drift with the marks that are drawn: none under paint."""
    return check.drift if chalk_counts(check) else replace(check.drift, spokes=(), rings=())
