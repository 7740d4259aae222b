"""How does a file appear whole or not at all, and never over one a person made?"""

from __future__ import annotations

import errno
import os
import platform
import secrets
import sys
import zlib
from pathlib import Path as FilePath


def write_whole(path: FilePath, data: bytes, *, force: bool = False) -> None:
    """Write a file beside its place and move it there in one step.

    Raises
    ------
    FileExistsError
        If there is a file and ``force`` is not given.
    """
    refuse_if_there(path, force=force)
    path.parent.mkdir(parents=True, exist_ok=True)
    _sweep(path)
    beside = path.with_name(f"{_unfinished(path)}{os.getpid()}-{secrets.token_hex(6)}")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def refuse_if_there(path: FilePath, *, force: bool = False) -> None:
    """Refuse a place for a file before any work on what it would hold.

    Raises
    ------
    FileExistsError
        If there is a file and ``force`` is not given.
    OSError
        If its folder cannot be made, because a file stands in the way, or cannot be written to.
    """
    if path.exists() and not force:
        raise FileExistsError(f"{path} is there already; move it away, name another place, or say --force")
    folder = path.parent
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    if not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    if not os.access(folder, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(folder))


def _unfinished(path: FilePath) -> str:
    """Return how the name begins of what is written beside a place on this machine; a process's number follows."""
    return f".{path.name[:80]}-{zlib.crc32(platform.node().encode('utf-8', 'replace')):08x}-"


def _sweep(path: FilePath) -> None:
    """Remove what processes that are no more had begun to write beside a place."""
    begins = _unfinished(path)
    for name in os.listdir(path.parent):
        process = name.removeprefix(begins).partition("-")[0]
        if name.startswith(begins) and process.isdecimal() and not _runs(int(process)):
            path.with_name(name).unlink(missing_ok=True)


def _runs(process: int) -> bool:
    """Return whether a process of this machine may be running."""
    if sys.platform == "win32":  # asking there would end it
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # another person's, or no number of a process
        return True
    return True
