"""The check of a photo with a piece on the panel, which is then measured in full."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from aligncheck.centrepiece import Centrepiece, find_centrepiece, why_none
from aligncheck.checking.about import about
from aligncheck.checking.finished import Check
from aligncheck.checking.given import AnyLayout, AnyPhoto, Size
from aligncheck.checking.one_photo import check
from aligncheck.drift import Drift
from aligncheck.photo import Photo
from aligncheck.placement import in_frame_of


def reach(
    photo: AnyPhoto,
    panel: Size,
    layout: AnyLayout | None = None,
    *,
    more: Sequence[AnyPhoto] = (),
    before: AnyPhoto | None = None,
    height_mm: float | tuple[float, float] | None = None,
    clearance_mm: float | None = None,
    **options: Any,
) -> Check:
    """Measure what lies on the panel in full; the check of `photo`, its centrepiece never None.

    Parameters
    ----------
    photo : path or Photo
    panel, layout, **options
        As in :func:`check`.
    more : sequence of path or Photo
        The same arrangement from other sides: what is common to all silhouettes bounds its height.
    before : path or Photo, optional
        The same panel, marked, with nothing on it.
    height_mm : float or (float, float), optional
        Height of the outer edge, or the lowest and highest it may be.
    clearance_mm : float, optional
        Kept free between the piece and the first row.

    Raises
    ------
    AligncheckError
        Also where nothing lies on the panel.
    """
    with about(photo, several=bool(more) or before is not None):
        done = check(photo, panel, layout, height_mm=height_mm, **options)
        at_first = require_piece(done)
    if before is None and not more and clearance_mm is None:
        return done
    bare = _framed(done, before, panel, layout, options) if before is not None else None
    others = [_framed(done, other, panel, layout, options) for other in more]
    found = find_centrepiece(
        done.photo, done.drift, height_mm=height_mm, clearance_mm=clearance_mm, before=bare, others=others
    )
    piece = require_piece(replace(done, centrepiece=found))
    old = {(n.code, n.text) for n in at_first.notes}
    notes = [n for n in done.notes if (n.code, n.text) not in old]
    return replace(done, centrepiece=piece, notes=(*notes, *piece.notes))


def require_piece(done: Check) -> Centrepiece:
    """What lies on the panel.

    Raises
    ------
    CentrepieceError
        Where nothing does: why it was not seen.
    """
    if done.centrepiece is None:
        raise why_none(done.photo, done.drift)
    return done.centrepiece


def _framed(done: Check, photo: AnyPhoto, panel: Any, layout: Any, options: dict[str, Any]) -> tuple[Photo, Drift]:
    """Another photo of the same panel, its map and marks in the frame of `done`."""
    with about(photo):
        other = check(photo, panel, layout, **options)
    return other.photo, in_frame_of(done.drift, other.drift, other.called("the other photo"))
