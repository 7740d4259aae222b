"""How does a folder of files appear whole or not at all, and never over one a person made?"""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path as FilePath

from portgeom.output.files.whole_file import refuse_if_there


def _nothing(folder: FilePath) -> None:
    pass


def refuse_there(folder: FilePath) -> None:
    """Raise FileExistsError if there is anything at a place but an empty folder, OSError where none can be made."""
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise FileExistsError(f"{folder} is there already; move it away, or name another place")
    refuse_if_there(FilePath(os.path.abspath(folder)), force=True)


def write_folder(
    folder: FilePath, texts: Mapping[str, str | bytes], *, sound: Callable[[FilePath], None] = _nothing
) -> None:
    """Write files into a folder beside its place and move it there in one step.

    Parameters
    ----------
    texts : mapping of str to str or bytes
        What each file holds, by its name, with / between folders.
    sound : callable
        Given the folder while it is still beside its place; whatever it raises is raised, and nothing stays.

    Raises
    ------
    FileExistsError
        If there is anything at that place but an empty folder.
    """
    refuse_there(folder)
    place = FilePath(os.path.abspath(folder))
    place.parent.mkdir(parents=True, exist_ok=True)
    beside = place.with_name(f".{place.name[:80]}-{secrets.token_hex(6)}")
    try:
        beside.mkdir()
        for name, text in texts.items():
            path = beside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb") as file:
                file.write(text.encode("utf-8") if isinstance(text, str) else text)
                file.flush()
                os.fsync(file.fileno())
        sound(beside)
        if place.exists():
            place.rmdir()  # empty, or this refuses
        os.rename(beside, place)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
