"""What does ``slice`` say of the sections it took: in words, and as JSON?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from portgeom.job.faults import line
from portgeom.job.units import area_from_mm2, area_word, length_from_mm
from portgeom.output.words.json_doc import Json, Numbers, cc, document

if TYPE_CHECKING:
    from portgeom.capture.slicing.mesh import SlicedMesh


def sliced_text(done: SlicedMesh) -> str:
    """Return what was assumed and mended, then one line a section, then where the job lies."""
    units = done.asked.units
    area = area_word(units)
    lines = [line(note) for note in done.notes]
    angles = done.sections.angles
    for k, (station, pitch, yaw) in enumerate(
        zip(done.sections.stations, angles.pitch_deg, angles.yaw_deg, strict=True), start=1
    ):
        outline = station.traced.outline
        down, right = (round(float(angle), 1) + 0.0 for angle in (pitch, yaw))  # no minus before nothing
        lines.append(
            f"station {k}: {length_from_mm(station.distance_mm, units):.2f} {units}, "
            f"{area_from_mm2(outline.area_mm2, units):.{1 if units == 'mm' else 4}f} {area}, pitch {down:.1f}, "
            f"yaw {right:.1f}, {len(outline.points_mm)} points"
        )
    lines.append(
        f"{done.written.folder}: port {done.asked.port}, {len(done.sections.stations)} sections, "
        f"{_volume_mm3(done) / 1000.0:.2f} cc between the first and the last{_mesh_words(done)}. "
        f"What it says: portgeom report {done.written.folder}"
    )
    return "\n".join(lines)


def sliced_doc(done: SlicedMesh) -> str:
    """Return the same as one JSON document."""
    number = Numbers(done.asked.units)
    angles = done.sections.angles
    rows = zip(done.sections.stations, angles.pitch_deg, angles.yaw_deg, angles.roll_deg, strict=True)
    entry: dict[str, Json] = {
        "port": done.asked.port,
        "stage": done.asked.stage,
        "folder": str(done.written.folder),
        "volume_cc": cc(_volume_mm3(done)),
        "mesh_volume_cc": None if (v := done.mesh.condition.volume_mm3) is None else cc(abs(v)),
        "stations": [
            {
                "station": str(k),
                "distance": number.length(s.distance_mm),
                "place": number.lengths(s.place_mm),
                "pitch": round(float(pitch), 4) + 0.0,
                "yaw": round(float(yaw), 4) + 0.0,
                "roll": round(float(roll), 4) + 0.0,
                "area": number.area(s.traced.outline.area_mm2),
                "moved": number.length(s.section.moved_mm),
                "carried": number.length(s.carried_mm),
                "gaps": [number.length(g.width_mm) for g in s.section.gaps],
            }
            for k, (s, pitch, yaw, roll) in enumerate(rows, start=1)
        ],
        "notes": [line(note) for note in done.notes],
    }
    return document("slice", done.asked.units, [entry])


def _volume_mm3(done: SlicedMesh) -> float:
    return float(done.written.port.cast.surface.volume_mm3.sum())


def _mesh_words(done: SlicedMesh) -> str:
    volume = done.mesh.condition.volume_mm3
    return "" if volume is None else f"; the closed mesh itself holds {abs(volume) / 1000.0:.2f} cc"
