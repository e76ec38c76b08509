"""Put a whole folder in place at once: written beside, synced, renamed; and clear away what a killed run left."""

import os
import secrets
import shutil
import socket
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from aligncheck.files import output_error, write_all

#: Folders that are being written: a dot, so that listings and sync programs pass them over.
BEING_WRITTEN = ".adding-"
#: After so long nothing is still being written, whatever computer began it.
STALE_S = 86_400.0


def folder_beside(parent: Path, contents: Mapping[str, bytes]) -> Path:
    """Write files into a new hidden folder in `parent`, synced to the disk; the folder.

    Raises
    ------
    OutputError
        Then nothing is left behind.
    """
    folder = parent / f"{BEING_WRITTEN}{_host()}-{os.getpid()}-{secrets.token_hex(4)}"
    target = folder
    try:
        folder.mkdir()
        for name, content in contents.items():
            target = folder / name
            with target.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        sync_folder(folder)
    except BaseException as error:
        shutil.rmtree(folder, ignore_errors=True)
        if isinstance(error, OSError):
            raise output_error(error, parent / target.name.lstrip(".")) from error
        raise
    return folder


def put_in_place(beside: Path, target: Path) -> bool:
    """Rename a written folder to its name, in one step; False where that name is taken."""
    if target.exists():
        return False
    try:
        # A folder with files in it is never replaced by a rename, so two runs cannot take one name.
        beside.rename(target)
    except OSError:
        if target.exists():
            return False
        raise
    sync_folder(target.parent)
    return True


def replace_file(path: Path, content: bytes) -> None:
    """Write a file of the record whole or not at all."""
    write_all({path: content}, lambda _: True)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make names in a folder last over a power cut, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def left_behind(parent: Path, now_s: float) -> list[Path]:
    """Folders that a run which is no more was writing."""
    with suppress(OSError):
        return [f for f in parent.iterdir() if f.name.startswith(BEING_WRITTEN) and not _alive(f, now_s)]
    return []


def _alive(folder: Path, now_s: float) -> bool:
    """Whether someone may still be writing this folder."""
    host, _, rest = folder.name.removeprefix(BEING_WRITTEN).rpartition("-")[0].rpartition("-")
    with suppress(OSError):
        if abs(now_s - folder.stat().st_mtime) > STALE_S:
            return False
    if host != _host() or not rest.isdigit():
        return True
    if int(rest) == os.getpid():
        return True
    if os.name != "posix":
        return True
    try:
        os.kill(int(rest), 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _host() -> str:
    """This computer's name in signs that every file system takes."""
    return "".join(c for c in socket.gethostname() if c.isalnum())[:40] or "computer"
