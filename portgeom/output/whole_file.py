"""How does a file appear whole or not at all, and never over one a person made?"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path as FilePath


def write_whole(path: FilePath, data: bytes, *, force: bool = False) -> None:
    """Write a file beside its place and move it there in one step.

    Raises
    ------
    FileExistsError
        If there is a file and ``force`` is not given.
    """
    if path.exists() and not force:
        raise FileExistsError(f"{path} is there already; move it away, name another place, or say --force")
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        os.unlink(beside)
        raise
