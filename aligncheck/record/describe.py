"""Change what is noted of a piece as a whole."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from aligncheck.record.disk import replace_file
from aligncheck.record.piece import PIECE_FILE, Piece, piece_toml, read_piece


def describe_piece(folder: Path, changes: Mapping[str, Any]) -> Piece:
    """Write the piece's file with some of its fields changed, whole or not at all; comments by hand are lost.

    Raises
    ------
    RecordError, OutputError
    """
    piece = replace(read_piece(folder), **changes)
    replace_file(folder / PIECE_FILE, piece_toml(piece))
    return piece
