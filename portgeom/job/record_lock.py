"""How do two writers of one job take turns, and what does one that was broken off leave behind?

The system holds the lock and lets go of it when a process ends, however it ends; so none is ever stale. What is
written in the lock's file only tells who holds it, or who was broken off holding it.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

LOCK_FILE = ".job.lock"
UNFINISHED = ".job-{}.part"
WAIT_S = 10.0
"""How long one writer waits for another."""
_POLL_S = 0.01
_TELL_BYTES = 200


class JobLockedError(OSError):
    """Another process is writing to the job. The message says which."""


@contextmanager
def locked(folder: Path, *, wait_s: float | None = None) -> Iterator[tuple[str, ...]]:
    """Hold a job folder for writing, and give what to tell of a writer that was broken off before.

    What it had not finished is removed; what it had is whole, and stays.

    Raises
    ------
    JobLockedError
        If another process holds it for longer than ``wait_s``, or WAIT_S.
    """
    path = folder / LOCK_FILE
    descriptor = _held(path, WAIT_S if wait_s is None else wait_s)
    try:
        before = os.read(descriptor, _TELL_BYTES).decode("utf-8", "replace").strip()
        swept = _swept(folder)
        told: list[str] = []
        if before:
            told.append(
                f"an earlier writer was broken off ({before}); the job is as it was before it, or has its stage"
            )
        if swept:
            told.append(f"{swept} unfinished file{'s' if swept != 1 else ''} of it removed")
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.truncate(descriptor, 0)
        os.write(descriptor, f"process {os.getpid()}, {time.strftime('%Y-%m-%d %H:%M:%S')}".encode())
        yield tuple(told)
    finally:  # ended, not broken off
        os.truncate(descriptor, 0)
        if sys.platform != "win32":  # a file that is open cannot be removed there; it stays, and is empty
            path.unlink(missing_ok=True)
        os.close(descriptor)


def unfinished(folder: Path, token: str) -> Path:
    """Return where a file is written before it is moved to its place."""
    return folder / UNFINISHED.format(token)


def _held(path: Path, wait_s: float) -> int:
    """Return the lock's open file, once it is held and is still the one at its place."""
    give_up = time.monotonic() + wait_s
    while True:
        try:
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        except PermissionError as error:  # of the folder, which a person knows; not of the lock, which they do not
            raise PermissionError(error.errno, error.strerror, str(path.parent)) from error
        if _take(descriptor):
            try:
                if os.path.samestat(os.fstat(descriptor), path.stat()):
                    return descriptor
            except FileNotFoundError:
                pass
            os.close(descriptor)  # the one who held it has removed it meanwhile
            continue
        holder = os.read(descriptor, _TELL_BYTES).decode("utf-8", "replace").strip()
        os.close(descriptor)
        if time.monotonic() > give_up:
            raise JobLockedError(0, f"another writer holds the job ({holder or 'it does not say which'})", str(path))
        time.sleep(_POLL_S)


def _swept(folder: Path) -> int:
    """Remove what earlier writers had not finished; nobody else writes while the lock is held."""
    left = list(folder.glob(UNFINISHED.format("*")))
    for path in left:
        path.unlink(missing_ok=True)
    return len(left)


if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> bool:
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _take(descriptor: int) -> bool:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
