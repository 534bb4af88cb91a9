"""Keeping a part file: never less on the disk than there was.

A save writes the whole text to a new file beside the old one, has it put on the disk, keeps the
old version under the name with ``.bak``, and only then gives the new one the old one's name, in one
step. Killed at any moment, the file is the old one or the new one, whole.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from errno import EDQUOT, ENOSPC
from pathlib import Path

__all__ = ["SaveError", "backup_of", "put", "read_bytes", "refuse_foreign", "save", "writable"]

LARGEST = 5_000_000
"""Bytes; a part file of a thousand features has a tenth of that."""


MARKED = 20_000
"""Characters, within which a file made here says so."""


class SaveError(OSError):
    """The file was not saved, and is as it was; the message says why, and what would help."""


def backup_of(path: Path) -> Path:
    """Where the version before the last save is kept."""
    return path.with_name(f"{path.name}.bak")


def read_bytes(path: Path) -> bytes:
    """A file's content.

    Raises
    ------
    SaveError
        The file is larger than any part file.
    OSError
        It cannot be read.
    """
    with path.open("rb") as file:
        content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise SaveError(f"{path} is larger than {LARGEST} bytes, and is no part file.")
    return content


def save(path: Path, text: str, *, known: bytes | None) -> bytes:
    """Save a text under a name, whole or not at all.

    Parameters
    ----------
    path : pathlib.Path
        Where.
    text : str
        What.
    known : bytes or None
        What the file held when it was read; None for a file that is not to be there yet.

    Returns
    -------
    bytes
        What the file holds now.

    Raises
    ------
    SaveError
        The file changed since it was read, is read-only, or could not be written. It is as it
        was.
    """
    # A link stays a link, and what it points to is saved.
    target = path.resolve()
    try:
        content = text.encode("utf-8")
    except UnicodeEncodeError as error:
        line = text[: error.start].count("\n") + 1
        raise SaveError(
            f"{path} was not saved and is as it was: line {line} holds half a character. Type that "
            "line again."
        ) from None
    try:
        with _alone(target.parent):
            _refuse_changed(target, known)
            with ExitStack() as undo:
                fresh = _written(target, content, "new", undo)
                if known is not None:
                    os.replace(_written(target, known, "bak", undo), backup_of(target))
                os.replace(fresh, target)
            _settle(target.parent)
    except SaveError:
        raise
    except OSError as error:
        cure = "Make room" if error.errno in (ENOSPC, EDQUOT) else "Take another folder"
        raise SaveError(
            f"{path} was not saved and is as it was: {error.strerror or error}. "
            f"{cure}, or save it under another name."
        ) from error
    return content


def writable(folder: Path) -> bool:
    """Whether something can be saved in a folder.

    Whoever may do everything still heeds a folder that was made read-only.
    """
    try:
        mode = stat.S_IMODE(folder.stat().st_mode)
    except OSError:
        return False
    return folder.is_dir() and bool(mode & 0o222) and os.access(folder, os.W_OK | os.X_OK)


def refuse_foreign(path: Path, mark: str) -> None:
    """Refuse a file that is there and was not made here.

    Parameters
    ----------
    path : pathlib.Path
        Which.
    mark : str
        What the beginning of a file made here holds.

    Raises
    ------
    SaveError
        Something else has that name.
    OSError
        It cannot be looked at.
    """
    if not path.exists():
        return
    with path.open(encoding="utf-8", errors="replace") as file:
        if mark not in file.read(MARKED):
            raise SaveError(f"{path} is there and was not made here. Give another name.")


def put(path: Path, text: str, *, keep: bool = False) -> None:
    """Write a file that can be made again, whole or not at all, over what was there.

    Parameters
    ----------
    path : pathlib.Path
        Where.
    text : str
        What.
    keep : bool, default False
        Whether what was there is kept, under the name with ``.bak``.

    Raises
    ------
    OSError
        It was not written; what was there is as it was.
    """
    target = path.resolve()
    with ExitStack() as undo:
        fresh = _written(target, text.encode("utf-8"), "new", undo)
        if keep:
            before = _written(target, target.read_bytes(), "bak", undo)
            os.replace(before, backup_of(target))
        os.replace(fresh, target)


def _refuse_changed(target: Path, known: bytes | None) -> None:
    if not writable(target.parent):
        raise SaveError(
            f"{target.parent} is no folder that can be written in. Save in another folder, such as "
            f"{Path.home()}."
        )
    try:
        there: bytes | None = read_bytes(target)
        mode = stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        there, mode = None, 0o600
    if there is not None and known is None:
        raise SaveError(f"{target} is there already. Save under another name.")
    if there is None and known is not None:
        raise SaveError(
            f"{target} was moved or deleted since it was read. Save under another name."
        )
    if there != known:
        raise SaveError(
            f"{target} was changed by someone else since it was read. Read it again, or save "
            "under another name."
        )
    # Taking over the name needs no right to write the file itself, so that is asked for here.
    if there is not None and not (mode & 0o222 and os.access(target, os.W_OK)):
        raise SaveError(f"{target} is read-only. Make it writable, or save under another name.")


def _written(target: Path, content: bytes, purpose: str, undo: ExitStack) -> str:
    """A new file beside the target, on the disk; what is left of it is taken away."""
    descriptor, name = tempfile.mkstemp(
        prefix=f".{target.name}.", suffix=f".{purpose}", dir=target.parent
    )
    undo.callback(Path(name).unlink, missing_ok=True)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.chmod(name, _mode(target))
    return name


def _mode(target: Path) -> int:
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        return 0o644


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """One save at a time in a folder, where the system can promise that."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def _settle(folder: Path) -> None:
    """Have the folder's own entry put on the disk."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
