"""What commands on one photo share: one photo measured, its results written, its notes told."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from aligncheck.checking import Check
    from aligncheck.notes import Note
    from aligncheck.result.names import Target


def target_of(photo: Path, out: Path | None) -> "Target":
    """Where the results of one photo go; refused now if they cannot be written there later."""
    from aligncheck.files import require_writable
    from aligncheck.result.names import targets
    from aligncheck.result.ours import is_ours

    target = targets([photo], out)[0]
    require_writable(target.files, is_ours)
    return target


def write_and_tell(done: "Check", target: "Target", lines: Sequence[str]) -> None:
    """Write figures and close-ups, then print the lines and the remarks that concern the piece."""
    from aligncheck.overlay.close_up import CloseUp, draw_close_ups
    from aligncheck.result.write import write_results
    from aligncheck.words.piece import summarise_piece
    from aligncheck.words.placing import summarise_placing

    piece, moved = done.centrepiece, done.placement
    if piece is None:
        return
    summary = summarise_placing(moved) if moved else summarise_piece(piece)
    write_results(done, target, draw_close_ups(CloseUp(done.photo, done.drift, piece, summary, moved)))
    for line in dict.fromkeys([*lines, *_remarks(done.notes), drawn(target)]):
        typer.echo(line)


def drawn(target: "Target") -> str:
    """Where the picture is."""
    from aligncheck.words.phrases import DRAWN

    return DRAWN.format(path=target.overlay)


def _remarks(notes: Sequence["Note"]) -> list[str]:
    """The notes that concern the piece; its height is asked for once."""
    codes = {note.code for note in notes}
    told_better = {"centrepiece_height"} if "placement_height" in codes else set()
    about = ("centrepiece", "placement", "centre_hidden")
    return [note.text for note in notes if note.code.startswith(about) and note.code not in told_better]
