"""The Stage value: one photo of a piece with what it showed; kept as ``stage.json`` in the stage's folder."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

from aligncheck.errors import RecordError

STAGE_FILE = "stage.json"
SCHEMA, FORMAT = "aligncheck-stage", 1

#: Fields that are lists of sentences.
LINES = ("words", "placed")
Kind = Literal["fits", "move", "unsure", "refused"]


@dataclass(frozen=True)
class Kept:
    """One file of a stage: how long it is and the SHA-256 of its bytes."""

    size_bytes: int
    sha256: str

    @classmethod
    def of(cls, content: bytes) -> "Kept":
        """Of a file's whole content."""
        return cls(len(content), hashlib.sha256(content).hexdigest())


@dataclass(frozen=True)
class Stage:
    """One stage.

    Attributes
    ----------
    name : str
        Of its folder; what it is called on the command line.
    title, note : str
        In the painter's words.
    moment : str
        ISO 8601: when the photo was taken, or added where it does not say. Stages are told in this order.
    taken : str or None
        What the photo itself (or the painter) says.
    added : str
        When it was put into the record, by this computer's clock.
    measured : bool
    kind, headline, second : str
        The verdict as words; where it could not be measured, `second` is the reason.
    words : tuple of str
        Every line of the findings.
    stage : str or None
        ``marked``, ``arranged``, ``rows`` or ``painted``.
    placed_like, placed : str or None, tuple of str
        Name of the earlier stage that its centrepiece was compared with, and how to put it back, in words.
    photo : str
        File name of the original in the stage's folder.
    original_name : str
        What the photo was called when it was added.
    files : mapping of str to Kept
        All files but ``stage.json`` itself.
    """

    name: str
    title: str
    moment: str
    taken: str | None
    added: str
    measured: bool
    kind: str
    headline: str
    second: str
    photo: str
    original_name: str
    files: Mapping[str, Kept]
    words: tuple[str, ...] = ()
    stage: str | None = None
    note: str = ""
    placed_like: str | None = None
    placed: tuple[str, ...] = ()
    #: Whether its folder was there when the record was opened.
    present: bool = field(default=True, compare=False)

    @property
    def photo_sha256(self) -> str:
        """Of the original's bytes."""
        return self.files[self.photo].sha256

    def file(self, ending: str) -> str | None:
        """Name of the file with this ending, such as ``.flat.jpg``; None where the stage has none."""
        name = self.name + ending
        return name if name in self.files else None


def stage_json(stage: Stage) -> bytes:
    """The file's text, sealed with a hash over itself, so that damage can be told from a change."""
    content = {"schema": f"{SCHEMA}-{FORMAT}", **asdict(stage)}
    del content["present"]
    content["seal"] = _seal(content)
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def read_stage(content: bytes, name: str) -> Stage:
    """The stage that a file describes; `name` is that of its folder, which may have been renamed.

    Raises
    ------
    RecordError
        ``stage_damaged`` or ``stage_newer``.
    """
    try:
        found = json.loads(content)
        schema, _, version = str(found["schema"]).rpartition("-")
        if schema != SCHEMA:
            raise ValueError(schema)
        if int(version) > FORMAT:
            raise RecordError("stage_newer", stage=name, version=int(version), known=FORMAT)
        files = {str(k): Kept(int(v["size_bytes"]), str(v["sha256"])) for k, v in found["files"].items()}
        kept = {k: v for k, v in found.items() if k in Stage.__dataclass_fields__ and k not in ("files", *LINES)}
        lines: dict[str, Any] = {k: tuple(str(w) for w in found.get(k, ())) for k in LINES}
        stage = Stage(**kept, files=files, **lines)
        if stage.photo not in files:
            raise ValueError("no photo")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise RecordError("stage_damaged", stage=name) from error
    return replace(stage, name=stage.name or name)


def is_sealed(content: bytes) -> bool:
    """Whether a stage's file is exactly as it was written."""
    try:
        found = json.loads(content)
        return bool(found.get("seal") == _seal(found))
    except (ValueError, AttributeError, RecursionError):
        return False


def _seal(content: Mapping[str, Any]) -> str:
    """SHA-256 over all keys but the seal, in one fixed form."""
    rest = {k: v for k, v in content.items() if k != "seal"}
    return hashlib.sha256(json.dumps(rest, sort_keys=True, ensure_ascii=True).encode()).hexdigest()
