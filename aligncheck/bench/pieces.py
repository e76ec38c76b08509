"""The records of pieces that photos can be kept in: one folder each, named by us."""

import secrets
from dataclasses import dataclass
from pathlib import Path

from aligncheck.errors import AligncheckError
from aligncheck.record.describe import describe_piece
from aligncheck.record.names import slug
from aligncheck.record.piece import PIECE_FILE, Piece, read_piece
from aligncheck.record.record import Record, new_record, open_record


@dataclass(frozen=True)
class Listed:
    """A piece as the page lists it; `id` is the name of its folder."""

    id: str
    piece: Piece


class Pieces:
    """All records in a folder."""

    def __init__(self, home: Path):
        self.home = home

    def all(self) -> list[Listed]:
        """Every record that can be read, by name."""
        found = []
        for folder in self._folders().values():
            try:
                found.append(Listed(folder.name, read_piece(folder)))
            except AligncheckError:
                continue
        return sorted(found, key=lambda p: p.piece.name.casefold())

    def folder(self, piece_id: str | None) -> Path | None:
        """The folder of a piece that is there; what a client sends is looked up and never made into a path."""
        return self._folders().get(piece_id or "")

    def get(self, piece_id: str | None) -> Piece | None:
        """What is known of a piece."""
        folder = self.folder(piece_id)
        try:
            return read_piece(folder) if folder else None
        except AligncheckError:
            return None

    def record(self, piece_id: str) -> Record | None:
        """The whole record of a piece."""
        folder = self.folder(piece_id)
        try:
            return open_record(folder) if folder else None
        except AligncheckError:
            return None

    def new(self, name: str, panel: str, segments: int | None, tolerance_mm: float | None) -> Listed:
        """Begin a record.

        Raises
        ------
        AligncheckError
        """
        self.home.mkdir(parents=True, exist_ok=True)
        # Letters and digits of the name, so that the folder can be told among others; the rest keeps it apart.
        folder = self.home / "-".join(part for part in (slug(name), secrets.token_hex(2)) if part)
        record = new_record(folder, panel, name=name, segments=segments, tolerance_mm=tolerance_mm)
        return Listed(folder.name, record.piece)

    def remember(self, piece_id: str, panel: str, segments: int | None, tolerance_mm: float | None) -> None:
        """Note in a piece's record what its photos are measured by from now on.

        Raises
        ------
        AligncheckError
        """
        folder, piece = self.folder(piece_id), self.get(piece_id)
        told: dict[str, object] = {"panel": panel, "segments": segments, "tolerance_mm": tolerance_mm}
        if folder and piece and any(getattr(piece, name) != value for name, value in told.items()):
            describe_piece(folder, told)

    def _folders(self) -> dict[str, Path]:
        try:
            return {path.name: path for path in self.home.iterdir() if (path / PIECE_FILE).is_file()}
        except OSError:
            return {}
