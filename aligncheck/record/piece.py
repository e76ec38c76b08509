"""What is known of a piece as a whole: its name, its size, and what the painter notes of it; kept as ``piece.toml``."""

import json
import tomllib
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from aligncheck.errors import RecordError
from aligncheck.units import parse_size

PIECE_FILE = "piece.toml"
#: Of the whole folder. A tool reads every version up to its own and refuses later ones.
FORMAT = 1

#: What the painter may note, each a list of lines, and the heading over it in the file.
LISTS = {
    "colours": "Colours, one a line, as they shall stand in the handout.",
    "tools": "Tools.",
    "rows": "Rows, from the middle outward.",
    "cautions": "What a class must take care of.",
}


@dataclass(frozen=True)
class Piece:
    """One piece.

    Attributes
    ----------
    name : str
        Any text.
    panel : str
        Width x height with the unit, as given: ``12x12in``.
    created : str
        ISO 8601 date.
    segments, tolerance_mm, layout : optional
        What every check of this piece goes by; `layout` is the name of a layout file in the folder.
    about : str
        A sentence or two for the page and the handout.
    colours, tools, rows, cautions : tuple of str
    """

    name: str
    panel: str
    created: str
    segments: int | None = None
    tolerance_mm: float | None = None
    layout: str | None = None
    about: str = ""
    colours: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        return parse_size(self.panel)


def piece_toml(piece: Piece) -> bytes:
    """The file's text, made to be read and changed by hand."""
    lines = [
        "# A record of one piece, kept by aligncheck. This file may be changed with any text editor.",
        f"format = {FORMAT}",
    ]
    for name, value in asdict(piece).items():
        if name in LISTS:
            lines += ["", f"# {LISTS[name]}", f"{name} = ["]
            lines += [f"  {_quoted(line)}," for line in value]
            lines.append("]")
        elif value is not None:
            lines.append(f"{name} = {_quoted(value) if isinstance(value, str) else value}")
    return ("\n".join(lines) + "\n").encode()


def read_piece(folder: Path) -> Piece:
    """The piece of a record.

    Raises
    ------
    RecordError
        ``no_record`` where the folder is none, ``record_newer`` where a later version made it, ``piece_damaged`` where
        the file cannot be read.
    """
    path = folder / PIECE_FILE
    try:
        content = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except (FileNotFoundError, NotADirectoryError):
        raise RecordError("no_record", folder=str(folder)) from None
    except OSError as error:
        raise RecordError("record_unreadable", folder=str(folder), reason=error.strerror or str(error)) from error
    except (ValueError, RecursionError) as error:
        raise RecordError("piece_damaged", folder=str(folder), reason=str(error).splitlines()[0]) from error
    version = content.get("format", 1)
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise RecordError("piece_damaged", folder=str(folder), reason=f"format = {version!r}")
    if version > FORMAT:
        raise RecordError("record_newer", folder=str(folder), version=version, known=FORMAT)
    return _piece(content, folder)


def _piece(content: dict[str, Any], folder: Path) -> Piece:
    """The piece that a file's keys describe; keys that are not ours are left alone."""
    known: dict[str, Any] = {}
    for field in fields(Piece):
        value = content.get(field.name)
        if field.name in LISTS:
            lines = value if isinstance(value, list) else [value] if value else []
            known[field.name] = tuple(str(line) for line in lines)
        elif value is not None:
            known[field.name] = value if field.name in ("segments", "tolerance_mm") else str(value)
    known.setdefault("name", folder.resolve().name)
    known.setdefault("created", "")
    if "panel" not in known:
        raise RecordError("piece_damaged", folder=str(folder), reason="panel is missing")
    parse_size(known["panel"])
    for name, kinds in (("segments", int), ("tolerance_mm", (int, float))):
        if name in known and (isinstance(known[name], bool) or not isinstance(known[name], kinds)):
            raise RecordError("piece_damaged", folder=str(folder), reason=f"{name} = {known[name]!r}")
    return Piece(**known)


def _quoted(text: str) -> str:
    """A basic string of TOML 1.0: JSON's, with the one control character that JSON lets through."""
    whole = text.encode("utf-8", "replace").decode()
    return json.dumps(whole, ensure_ascii=False).replace("\x7f", "\\u007F")
