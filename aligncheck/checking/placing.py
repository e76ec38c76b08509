"""The check of a photo against an earlier one: how the piece was moved in between."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from aligncheck.checking.about import about
from aligncheck.checking.finished import Check
from aligncheck.checking.given import AnyLayout, AnyPhoto, Size
from aligncheck.checking.one_photo import check
from aligncheck.checking.reaching import require_piece
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.photo import Photo
from aligncheck.placement import Arranged, find_placement


def place(
    photo: AnyPhoto,
    like: AnyPhoto | Sequence[AnyPhoto],
    panel: Size,
    layout: AnyLayout | None = None,
    *,
    more: Sequence[AnyPhoto] = (),
    height_mm: float | None = None,
    **options: Any,
) -> Check:
    """Measure how the piece was moved since an earlier photo; the check of `photo` with `placement` in it.

    Parameters
    ----------
    photo : path or Photo
        The present photo; size, layout and what else is given go for all photos.
    like : path or Photo, or a sequence of them
        The earlier photo; further ones show the same arrangement from other places.
    panel, layout, **options
        As in :func:`check`.
    more : sequence of path or Photo
        The piece as it lies now, from other places. A third photo, earlier or now, measures the piece's height.
    height_mm : float, optional
        Height of the piece's outer edge.

    Raises
    ------
    AligncheckError
        Also where one of the photos shows no piece, or they show other marks or another piece.
    """
    earlier = [like] if isinstance(like, str | Path | Photo) else list(like)
    if not earlier:
        raise InputError("no_earlier")
    how: dict[str, Any] = {"panel": panel, "layout": layout, "height_mm": height_mm, **options}
    with about(photo):
        now = check(photo, **how)
        require_piece(now)
    was = [_arranged(_checked(one, how), "the earlier photo") for one in earlier]
    others = [_arranged(_checked(one, how), "the other photo") for one in more]
    moved = find_placement(_arranged(now, "this photo"), was[0], height_mm, more_now=others, more_earlier=was[1:])
    return replace(now, placement=moved, notes=(*now.notes, *moved.notes))


def _checked(photo: AnyPhoto, how: dict[str, Any]) -> Check:
    with about(photo):
        return check(photo, **how)


def _arranged(done: Check, name: str) -> Arranged:
    """A checked photo with the piece in it, under its file's name."""
    called = done.called(name)
    if done.centrepiece is None:
        raise CentrepieceError("nothing_in_earlier", file=called)
    return Arranged(done.photo, done.drift, done.centrepiece, called)
