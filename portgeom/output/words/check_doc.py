"""What does ``check`` say, to a person and to a program?"""

from __future__ import annotations

from portgeom.job.faults import line as note_line
from portgeom.job.units import told
from portgeom.job.values import Note, Units
from portgeom.output.words.json_doc import Json, document
from portgeom.questions.check import Checked


def check_text(checked: Checked) -> str:
    """Return what ``check`` says of a sound job, notes included."""
    job = checked.job
    assert job is not None
    lines = [f"Sound: {job.title}"]
    for port in job.ports:
        stages = ", ".join(f"{s.name} ({len(s.sections.rows)} stations)" for s in port.stages)
        wanted = f"target {port.target}" if port.target else "no target: the roof will be bridged, a guess"
        lines.append(f"  port {port.name}: {stages}; {wanted}")
    if checked.notes:
        lines += ["What was done or assumed in reading it:"]
        lines += [f"  {note_line(n, job.units)}" for n in checked.notes]
    return "\n".join(lines)


def check_json(checked: Checked, units: Units) -> str:
    """Return the document of ``check``."""
    job = checked.job
    ports: list[Json] = []
    if job is not None:
        ports = [{"port": p.name, "stage": s.name} for p in job.ports for s in p.stages]
    return document(
        "check",
        units,
        ports,
        ok=checked.ok,
        faults=[_note(n, units) for n in checked.faults],
        notes=[_note(n, units) for n in checked.notes],
    )


def _note(note: Note, units: Units) -> Json:
    found, mend = told(note.found, units), told(note.mend, units)
    return {"file": note.file, "row": note.row, "field": note.field, "found": found, "mend": mend}
