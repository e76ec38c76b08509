"""Write files whole or not at all, and never over what is not ours; read the painter's own."""

import errno
import os
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from aligncheck.errors import InputError, OutputError

#: Kinds of trouble that have a sentence of their own.
REASONS = {
    errno.ENOSPC: "disk_full",
    errno.EDQUOT: "disk_full",
    errno.EACCES: "out_not_writable",
    errno.EPERM: "out_not_writable",
    errno.EROFS: "out_not_writable",
    errno.ENOTDIR: "out_not_a_folder",
    errno.EEXIST: "out_not_a_folder",
    errno.ENAMETOOLONG: "name_too_long",
}


def output_error(error: OSError, target: Path) -> OutputError:
    """The painter's words for an `error` met while writing `target`."""
    code = REASONS.get(error.errno or 0, "not_written")
    return OutputError(code, file=target.name, folder=str(target.parent), reason=error.strerror or str(error))


def text_of(path: Path, unreadable: str) -> str:
    """The text of a small file that the painter wrote.

    Raises
    ------
    InputError
        `unreadable`, with the file's name and the reason.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(unreadable, file=path.name, reason="it is not a text file") from None
    except OSError as error:
        raise InputError(unreadable, file=path.name, reason=(error.strerror or str(error)).lower()) from None


def require_writable(files: Iterable[Path], is_ours: Callable[[Path], bool]) -> None:
    """Refuse what can be told before any work is done: files that are not ours, folders that cannot be written to.

    Raises
    ------
    OutputError
        ``not_ours``, ``out_not_a_folder`` or ``out_not_writable``.
    """
    for target in files:
        if os.path.lexists(target) and not is_ours(target):
            raise OutputError("not_ours", file=target.name, folder=str(target.parent))
        standing = next(f for f in target.absolute().parents if os.path.lexists(f))
        values = {"file": target.name, "folder": str(target.parent), "reason": ""}
        if not standing.is_dir():
            raise OutputError("out_not_a_folder", **values)
        if not os.access(standing, os.W_OK | os.X_OK):
            raise OutputError("out_not_writable", **values)


def write_all(contents: Mapping[Path, bytes], is_ours: Callable[[Path], bool]) -> None:
    """Write several files so that all are there at the end or none has changed.

    Each is written beside its target and synced; only when all are safe are they renamed. A folder that had to be made
    is taken away again when nothing came of it.

    Parameters
    ----------
    contents : mapping of Path to bytes
    is_ours : callable
        Whether a file that is already there may be replaced.

    Raises
    ------
    OutputError
        ``not_ours`` where a target exists and is not ours; ``disk_full``, ``out_not_writable``, ``out_not_a_folder``,
        ``name_too_long`` or ``not_written`` where the system refuses.
    """
    require_writable(contents, is_ours)
    made: list[Path] = []
    beside: dict[Path, Path] = {}
    done = False
    target = next(iter(contents))
    try:
        for target, content in contents.items():
            made += _make_folders(target.parent)
            # A dot and a random part: no other process takes the same name, and no synced folder shows it. The bytes
            # are the system's own, as those of `secrets`, which would load all kinds of hashes beside.
            temporary = target.with_name(f".{target.name[:80]}.{os.urandom(4).hex()}.part")
            beside[target] = temporary
            _write(temporary, content)
        for target, temporary in beside.items():
            temporary.replace(target)
        done = True
    except OSError as error:
        raise output_error(error, target) from error
    finally:
        if not done:
            _tidy(beside.values(), made)


def _make_folders(folder: Path) -> list[Path]:
    """Make `folder` and its parents; the ones that were not there, innermost last."""
    missing = [f for f in [folder, *folder.parents] if not f.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _tidy(files: Iterable[Path], folders: list[Path]) -> None:
    for file in files:
        with suppress(OSError):
            file.unlink()
    for folder in reversed(folders):
        with suppress(OSError):
            folder.rmdir()
