"""What does a tracing say: in words, to a program, and in the files it leaves?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from portgeom import __version__
from portgeom.capture.slicing.words import reworded
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.words.json_doc import Json, Numbers, document
from portgeom.output.words.names import harmless
from portgeom.output.words.shown import Shown

if TYPE_CHECKING:
    from portgeom.capture.tracing.batch import Batch, Named, TracedSheet
    from portgeom.capture.tracing.mould import Mould
    from portgeom.capture.tracing.traced import Slice, Traced

DECIMALS: dict[Units, int] = {"mm": 3, "in": 5}


def outline_csv(slice_: Slice, units: Units) -> bytes:
    """Return the outline as a table of u and v, as a job reads it."""
    places = DECIMALS[units]
    rows = ["u,v"]
    for u, v in slice_.outline.points_mm:
        rows.append(f"{length_from_mm(u, units):.{places}f},{length_from_mm(v, units):.{places}f}")
    return ("\n".join(rows) + "\n").encode()


def sections_csv(batch: Batch, units: Units) -> bytes:
    """Return a section table that names the outlines at their distances along the path."""
    places = DECIMALS[units]
    first = batch.named[0]
    turned = [name for name, angle in (("pitch", first.pitch_deg), ("yaw", first.yaw_deg)) if angle is not None]
    rows = [",".join(["station", "distance", *turned, "shape", "outline"])]
    for one in batch.named:
        distance = length_from_mm(station_mm(one, batch.wish.mould), units)
        angles = [f"{angle:g}" for angle in (one.pitch_deg, one.yaw_deg) if angle is not None]
        rows.append(",".join([str(one.number), f"{distance:.{places}f}", *angles, "outline", f"{one.stem}.csv"]))
    return ("\n".join(rows) + "\n").encode()


def station_mm(one: Named, mould: Mould | None) -> float:
    """Return where a slice's scanned face lay: at its mark, or beside it by half the saw's cut.

    The mould's own end at distance 0 was not sawn.
    """
    mark = one.distance_mm or 0.0
    return mark if mould is None or mark == 0.0 else mark + mould.beyond_mark_mm


def note_json(traced: TracedSheet, one: Named, mould: Mould | None, units: Units) -> bytes:
    """Return the note that lies beside an outline: how it came about."""
    entry = {"portgeom": __version__, "units": units, **slice_json(traced, one, mould, Numbers(units))}
    return (json.dumps(entry, ensure_ascii=False, allow_nan=False, indent=2) + "\n").encode()


def slice_json(traced: TracedSheet, one: Named, mould: Mould | None, numbers: Numbers) -> dict[str, Json]:
    """Return a slice for a program."""
    s, outline = one.slice, one.slice.outline
    entry: dict[str, Json] = {
        "outline": f"{one.stem}.csv",
        **_source_json(traced),
        "number": one.number,
        "scale": traced.scale_words,
        "looking": "out" if s.placing.mirrored else "in",
        "mirrored": s.placing.mirrored,
        "roof": s.placing.roof_words,
        "origin": s.placing.origin_words,
        "area": numbers.area(outline.area_mm2),
        "perimeter": numbers.length(outline.perimeter_mm),
        "width": numbers.length(outline.width_mm),
        "height": numbers.length(outline.height_mm),
        "centroid": numbers.lengths(outline.centroid_mm),
        "within": numbers.length(s.within_mm),
        "smoothed": numbers.length(s.smoothed_mm),
        "notes": [in_their_units(note, numbers.units) for note in (*traced.told, *s.notes)],
        "warnings": [in_their_units(warning, numbers.units) for warning in one.warnings],
    }
    if mould is not None:
        entry["mould"] = {
            "scanned": mould.scanned,
            "shrink_percent": mould.shrink_percent,
            "kerf": numbers.length(mould.kerf_mm),
            "face_beyond_mark": numbers.length(mould.beyond_mark_mm),
        }
    if one.calipers is not None:
        read = {"width": one.calipers.width_mm, "height": one.calipers.height_mm}
        entry["calipers"] = {name: numbers.length(x) for name, x in read.items() if x is not None}
        entry["traced_as_it_lay"] = {
            "width": numbers.length(s.width_mm),
            "height": numbers.length(s.height_mm),
        }
    if one.distance_mm is not None:
        entry["distance"] = numbers.length(station_mm(one, mould))
    return entry


def in_their_units(words: str, units: Units) -> str:
    """Return a note or a warning with its lengths and areas in the units of the command."""
    return words if units == "mm" else reworded(words)


def _source_json(traced: TracedSheet) -> dict[str, Json]:
    from portgeom.capture.tracing.traced import Traced

    if not isinstance(traced, Traced):
        return {"drawing": traced.name}
    return {"image": traced.name, "mm_per_pixel": [round(float(x), 7) for x in _pixel_mm(traced)]}


def _pixel_mm(traced: Traced) -> tuple[float, float]:
    """Return the width and height in mm of the pixel in the picture's middle."""
    import numpy as np

    middle = np.array([0.5 * traced.picture.width, 0.5 * traced.picture.height])
    steps = traced.scale.to_mm(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return float(np.hypot(*(steps[1] - steps[0]))), float(np.hypot(*(steps[2] - steps[0])))


def sheet_text(traced: TracedSheet, named: list[Named], mould: Mould | None, shown: Shown) -> str:
    """Return in words what was traced in one picture or drawing."""
    from portgeom.capture.tracing.traced import Traced

    first = traced.slices[0].placing
    looking = "looking out, so left and right were swapped" if first.mirrored else "looking in"
    count = len(named)
    tone = f", {traced.tone} on the sheet" if isinstance(traced, Traced) else ""
    lines = [
        f"{harmless(traced.name)}: {count} slice{'s' if count > 1 else ''}{tone}. "
        f"Scale: {traced.scale_words}. Seen {looking}; roof {first.roof_words}; origin: {first.origin_words}."
    ]
    if mould is not None:
        side = "beyond" if mould.beyond_mark_mm > 0.0 else "before"
        lines.append(
            f"  mould: the {'entry-side' if mould.scanned == 'entry' else 'far'} face was scanned; lengths grown by "
            f"{100.0 * (mould.growth - 1.0):.2f} percent for shrinkage; with a cut of {shown.length(mould.kerf_mm)} "
            f"each face lay {shown.length(abs(mould.beyond_mark_mm))} {side} its mark"
        )
    lines += [f"  note: {in_their_units(note, shown.units)}" for note in traced.told]
    for one in named:
        s, o = one.slice, one.slice.outline
        lines.append(
            f"  {one.stem}: {shown.area(o.area_mm2)}, {shown.number(o.width_mm)} wide and {shown.length(o.height_mm)} "
            f"high; edge known within {_fine(s.within_mm, shown)}{_smoothed(s, shown)}"
        )
        lines += [f"    note: {in_their_units(note, shown.units)}" for note in s.notes]
    return "\n".join(lines)


def _smoothed(s: Slice, shown: Shown) -> str:
    return f", smoothed by at most {_fine(s.smoothed_mm, shown)}" if s.smoothed_mm else ""


def _fine(length_mm: float, shown: Shown) -> str:
    places = {"mm": 2, "in": 4}[shown.units]
    length = max(length_from_mm(length_mm, shown.units), 10.0**-places)  # never said to be known exactly
    return f"{length:.{places}f} {shown.units}"


def batch_text(batch: Batch, shown: Shown) -> str:
    """Return in words what was traced in all pictures and drawings."""
    return "\n".join(
        sheet_text(traced, [one for one in batch.named if one.sheet == k], batch.wish.mould, shown)
        for k, traced in enumerate(batch.sheets)
    )


def next_words(batch: Batch, folder: Path) -> str:
    """Return where the files lie and what comes next."""
    look = ", ".join(f"{stem}.png" for stem in batch.overlays[:3])
    more = f" and {len(batch.overlays) - 3} more" if len(batch.overlays) > 3 else ""
    lines = [f"Written to {folder}. Look at what was traced: {look}{more}"]
    if batch.named[0].distance_mm is None:
        lines.append("With --distances, where along the port each slice was marked, a section table is written too.")
    elif len(batch.named) > 1:
        lines.append(f"A job of it: portgeom new FOLDER --sections {folder / 'sections.csv'}")
    return "\n".join(lines)


def batch_json(batch: Batch, units: Units) -> str:
    """Return the document for a program: ``slices`` beside the common head, and no ports."""
    numbers = Numbers(units)
    slices: list[Json] = [slice_json(batch.sheets[one.sheet], one, batch.wish.mould, numbers) for one in batch.named]
    return document("trace", units, [], slices=slices)
