"""How does a file appear whole or not at all, and never over one a person made?"""

from __future__ import annotations

import os
import secrets
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
    beside = path.with_name(f".{path.name[:80]}-{secrets.token_hex(6)}")
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
    """Raise FileExistsError if there is a file, unless ``force`` is given: before any work on what it would hold."""
    if path.exists() and not force:
        raise FileExistsError(f"{path} is there already; move it away, name another place, or say --force")
