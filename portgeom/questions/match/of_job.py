"""How does what the job says meets a port at its face meet it, at one stage?"""

from __future__ import annotations

from portgeom.job.faults import JobError
from portgeom.job.values import Job, Note
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.match.match import Match, NoOverlapError, match


def match_of(job: Job, port: LoftedPort, stage: LoftedStage) -> Match | None:
    """Return the match of a stage of a port; None where the job names nothing that meets it.

    Raises
    ------
    JobError
        Where an opening lies wholly beside the port's once its holes are on their pins.
    """
    given = port.port.match
    if given is None:
        return None
    face = stage.stage.sections.rows[0]
    lean = port.cast.stage.sections.rows[0].pitch_deg or 0.0
    try:
        return match(face.outline, given, kind=port.port.kind, lean_deg=lean, milling=job.milling)
    except NoOverlapError as error:
        part = str(error)
        field = f"port '{port.port.name}' match {part}"
        found = "its opening lies wholly beside the port's once its holes are on their pins"
        mend = "check outline and holes: their origin, their order, and whether it was drawn from_head"
        raise JobError([Note("job.toml", None, field, found, mend)]) from error
