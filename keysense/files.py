"""Files read and written: what goes wrong in one plain line; a crash leaves the old one or the new one, never half."""

from __future__ import annotations

import errno
import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

from keysense.errors import KeysenseError, TakeFileError

__all__ = ["looks_like", "read_whole", "sync", "what_went_wrong", "write_atomically"]


def write_atomically(path: str | Path, data: bytes, *, error: type[KeysenseError] = TakeFileError) -> None:
    """Write ``data`` to ``path`` by a temporary file in the same folder, a sync and a rename.

    Raises ``error`` with one plain line when the disk is full, the folder is missing or cannot be written.
    """
    path = Path(path)
    try:
        handle, name = tempfile.mkstemp(prefix=".writing-", dir=path.parent)
    except OSError as cause:
        raise error(what_went_wrong(cause, path)) from cause
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            sync(file.fileno())
        temporary.replace(path)
        _sync_folder(path.parent)
    except OSError as cause:
        raise error(what_went_wrong(cause, path)) from cause
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)


def read_whole(
    path: str | Path, *, error: type[KeysenseError] = TakeFileError, largest_bytes: int = 64_000_000
) -> bytes:
    """All bytes of a file; ``error`` with one plain line when it is missing, may not be read or is far too large."""
    path = Path(path)
    try:
        size = path.stat().st_size
        if size > largest_bytes:
            raise error(f"{path.name} is far too large ({size / 1e6:.0f} MB): give the file of one take or one piece")
        return path.read_bytes()
    except OSError as cause:
        raise error(what_went_wrong(cause, path)) from cause


def looks_like(data: bytes) -> str:
    """What a file that is no Standard MIDI File seems to be, in words for a message."""
    if data.startswith(b"RIFF"):
        return "it begins like a sound or RIFF file"
    if all(byte in b"\t\n\r" or 32 <= byte < 127 for byte in data[:400]):
        return "it holds plain text"
    return "its first bytes are not MThd"


def sync(descriptor: int) -> None:
    """Ask the machine to put the file's bytes on the disk, by the surest call the system has."""
    if sys.platform == "darwin":
        # fsync on macOS stops at the drive's own cache; F_FULLFSYNC does not, but some file systems refuse it
        import fcntl

        try:
            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
        except OSError:
            os.fsync(descriptor)
    elif hasattr(os, "fdatasync"):
        os.fdatasync(descriptor)
    else:
        os.fsync(descriptor)


def what_went_wrong(cause: OSError, path: str | Path) -> str:
    """One line for the teacher: what happened, where, and what to do next."""
    path = Path(path)
    if cause.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"the disk is full, so {path.name} could not be written in {path.parent}: free some space and try again"
    if cause.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"{path} may not be read or written: choose another folder, or allow it in {path.parent}"
    if cause.errno == errno.ENOENT:
        return f"there is no {path}: look at the spelling of the name and the folder"
    if cause.errno == errno.EISDIR:
        return f"{path} is a folder: give the name of a file"
    return f"{path} could not be read or written ({cause.strerror or cause}): look at the folder and try again"


def _sync_folder(folder: Path) -> None:
    """Make the rename itself last; where a folder cannot be opened (Windows), the rename is all there is."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        with suppress(OSError):
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
