"""Which files does a tracing leave, and how do they appear all together or not at all?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from portgeom.job.values import Units
from portgeom.output.charts.trace_overlay import overlay_png
from portgeom.output.files.whole_file import write_whole
from portgeom.output.words.shown import Shown
from portgeom.output.words.trace_doc import note_json, outline_csv, sections_csv

if TYPE_CHECKING:
    from portgeom.capture.tracing.batch import Batch

TABLE = "sections.csv"


def trace_files(batch: Batch, *, units: Units) -> dict[str, bytes]:
    """Return the content of every file by its name: outlines, their notes, overlays, and the section table."""
    files: dict[str, bytes] = {}
    for one in batch.named:
        files[f"{one.stem}.csv"] = outline_csv(one.slice, units)
        files[f"{one.stem}.json"] = note_json(batch.sheets[one.sheet], one, batch.wish.mould, units)
    if batch.named[0].distance_mm is not None:
        files[TABLE] = sections_csv(batch, units)
    for k, (traced, stem) in enumerate(zip(batch.sheets, batch.overlays, strict=True)):
        own = {one.slice.number: one.number for one in batch.named if one.sheet == k}
        files[f"{stem}.png"] = overlay_png(traced, own, Shown(units))
    return files


def write_traces(batch: Batch, folder: Path, *, units: Units, force: bool = False) -> tuple[Path, ...]:
    """Write every file into ``folder`` and return where; if one cannot be written, those before it go again.

    Raises
    ------
    FileExistsError
        If any is there and ``force`` is not given; nothing is written then.
    """
    files = {folder / name: data for name, data in trace_files(batch, units=units).items()}
    there = [str(path) for path in files if path.exists()]
    if there and not force:
        raise FileExistsError(f"{', '.join(there)}: there already; name another folder, or say --force")
    written: list[Path] = []
    try:
        for path, data in files.items():
            write_whole(path, data, force=force)
            written.append(path)
    except BaseException:
        # what stood there before under --force is gone either way; half a set of outlines would mislead
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return tuple(written)
