"""Which files of a job folder may be read, and what text do they hold?

A name in a job is data from outside: it must stay in the folder on every system, and name a plain file
that is no larger than such a file can sensibly be. Nothing is read before that is known.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from portgeom.job.faults import Spot, shown

JOB_BYTES = 1_000_000
TABLE_BYTES = 2_000_000
OUTLINE_BYTES = 5_000_000
MESH_BYTES = 200_000_000
WHOLE_JOB_BYTES = 100_000_000
"""All the tables and outlines of one job together."""

NAME_CHARACTERS = 240

_DEVICE = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])\s*(\..*)?", re.IGNORECASE)


@dataclass(slots=True)
class Folder:
    """A job folder, and how much may still be read from it."""

    root: Path
    bytes_left: int = field(default=WHOLE_JOB_BYTES)

    def text(self, name: str, named_at: Spot, *, most_bytes: int) -> str | None:
        """Return a file's text, or None after taking down why it cannot be had."""
        data = self.data(name, named_at, most_bytes=most_bytes)
        return None if data is None else decoded(data, Spot(named_at.gathered, relative(name), None, "text"))

    def data(self, name: str, named_at: Spot, *, most_bytes: int) -> bytes | None:
        """Return a file's bytes, or None after taking down why they cannot be had."""
        path = self.file(name, named_at, most_bytes=most_bytes)
        data = None if path is None else read_bounded(path, most_bytes, named_at)
        if data is None:
            return None
        self.bytes_left -= len(data)
        if self.bytes_left < 0:
            named_at.fault(
                f"with {shown(name)} the job's files come to over {WHOLE_JOB_BYTES // 1_000_000} MB",
                "trace with fewer points, or split the job",
            )
            return None
        return data

    def file(self, name: str, named_at: Spot, *, most_bytes: int) -> Path | None:
        """Return where a named file is, or None after taking down why it cannot be used."""
        trouble = unsafe(name)
        if trouble is not None:
            named_at.fault(f"{shown(name)} {trouble}", "name a file inside the job folder, with / between folders")
            return None
        try:
            root = self.root.resolve()
            path = (root / name).resolve()
            inside = path.is_relative_to(root)
            state = "missing" if not path.exists() else "folder" if path.is_dir() else "other"
            large = path.stat().st_size if path.is_file() else -1
        except (OSError, RuntimeError, ValueError) as error:
            named_at.fault(f"{shown(name)} cannot be looked up ({type(error).__name__})", "check the file")
            return None
        if not inside:
            named_at.fault(f"{shown(name)} leads out of the job folder", "copy the file into the job folder")
        elif state == "missing":
            named_at.fault(f"{shown(name)} is not in the job folder", "put it there, or mend the name")
        elif state == "folder":
            named_at.fault(f"{shown(name)} is a folder", "name a file")
        elif large < 0:
            named_at.fault(f"{shown(name)} is not a plain file", "name a plain file")
        elif large > most_bytes:
            named_at.fault(f"{shown(name)} has {large} bytes", f"at most {most_bytes} are read")
        else:
            return path
        return None


def unsafe(name: str) -> str | None:
    """Return why a name could lead out of a folder on some system, or None if it cannot.

    Examples
    --------
    >>> unsafe("traces/station-01.csv") is None
    True
    >>> unsafe("../other/cast.csv")
    'leads out of the job folder'
    """
    parts = name.split("/")
    if len(name) > NAME_CHARACTERS:
        return f"has {len(name)} characters, more than {NAME_CHARACTERS}"
    if not name.isprintable():
        return "holds a control character"
    if name.startswith("/"):
        return "is an absolute path"
    if "\\" in name:
        return "holds a backslash"
    if any(c in name for c in ':<>"|?*'):
        return "holds a drive letter or a character that not every system has in names"
    if ".." in parts:
        return "leads out of the job folder"
    if any(part.rstrip(" .") != part for part in parts if part != "."):
        return "has a part that ends in a dot or a blank"
    if any(_DEVICE.fullmatch(part) for part in parts):
        return "is the name of a device on some systems"
    return None


def relative(name: str) -> str:
    """Return a safe name as it is shown: without "./" and doubled slashes."""
    return "/".join(part for part in name.split("/") if part not in ("", "."))


def read_bounded(path: Path, most_bytes: int, spot: Spot) -> bytes | None:
    """Return a file's bytes, or None after taking down that it cannot be read or is too large."""
    try:
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except FileNotFoundError:
        spot.fault(f"{shown(path.name)} is not there", "mend the name, or say where the file lies")
        return None
    except IsADirectoryError:
        spot.fault(f"{shown(path.name)} is a folder", "name a file")
        return None
    except OSError as error:
        spot.fault(f"{shown(path.name)} cannot be read: {error.strerror}", "check that you may read the file")
        return None
    if len(data) > most_bytes:
        spot.fault(f"{shown(path.name)} has more than {most_bytes} bytes", f"at most {most_bytes} are read")
        return None
    return data


def decoded(data: bytes, whole: Spot) -> str | None:
    """Return text in UTF-8, with or without a byte order mark, or None after taking down where it is not."""
    mend = "save it as UTF-8"
    if whole.file.casefold().endswith(".csv"):
        mend += '; spreadsheets call it "CSV UTF-8"'
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        whole.fault("is in UTF-16", mend)
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        whole.cell(row, whole.field).fault(f"byte {data[error.start]:#04x} is not UTF-8", mend)
        return None
