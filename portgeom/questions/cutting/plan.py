"""Which passes take a port to its target, and what does each one's blank mean?

What the job leaves blank is filled by common practice, which has no published source: the first grooves
take a good half of the metal, levelling always ends lower than they were set, a little is left to blend.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from portgeom.geometry.cutter import CutterBody
from portgeom.job.values import CutPass, Cutter, Job, PassKind, Side
from portgeom.questions.cutting.cutters import body_of

FIRST_SHARE = 0.55
"""First grooves take this share of the metal over the line (common practice, no source)."""

DEEPEST_GROOVE_MM = 3.8
"""Grooves are set no deeper than this, 0.150 in (common practice, no source)."""

SHARE_OF_RADIUS = 0.8
"""Grooves are set no deeper than this share of a ball's radius (common practice, no source)."""

OVERSHOOT_MM = 0.4
"""Levelling ends this far below the groove bottoms: 0.25 to 0.6 mm (common practice, no source)."""

LEAVE_GROOVES_MM = 0.9
"""Groove bottoms stay this far short of the line, 0.9 to 1.3 mm (common practice, no source)."""

LEAVE_LEVEL_MM = 0.5
"""Levelling stays this far short of the line (common practice, no source)."""

LEAST_METAL_MM = 1.5
"""Where less metal stands over the line no grooves are cut (common practice, no source)."""

SECOND_ROUND_MM = 2.5
"""Where more than this is left after levelling, groove and level again (common practice, no source)."""

RIB_SHARE = 0.8
"""The top of a rib is at most this share of the cutter that levels it (common practice, no source)."""

START_MM = 4.0
"""Grooves start this far inside the face, 3 to 5 mm, and end as far before the roof's end."""

USUAL_CUTTER = Cutter("ball 10 (assumed)", "ball", 10.0, 9.0, 6.0, 150.0)
"""What is assumed where a job names no cutter."""


@dataclass(frozen=True, slots=True)
class PlannedPass:
    """A pass with every blank filled.

    Attributes
    ----------
    rows : int or None
        None where the tool chooses; likewise ``depth_mm`` None is the usual share of the metal.
    least_metal_mm : float
        Where less metal stands over the line no groove is cut.
    said : bool
        Whether the job gave this pass, or the tool planned it.
    """

    name: str
    kind: PassKind
    side: Side
    cutter: Cutter
    body: CutterBody
    rows: int | None
    across_mm: tuple[float, ...]
    from_mm: float
    to_mm: float
    depth_mm: float | None
    leave_mm: float
    overshoot_mm: float
    least_metal_mm: float
    said: bool


def planned(given: CutPass, cutters: tuple[Cutter, ...], *, length_mm: float, roof_end_mm: float) -> PlannedPass:
    """Return a pass of the job with its blanks filled.

    Grooves of the roof run from just inside the face to just before the roof's end; other passes run
    from end to end of the side.
    """
    cutter = next(c for c in cutters if c.name == given.cutter)
    grooves = given.kind == "grooves"
    end = roof_end_mm if given.side == "roof" else length_mm
    inset = START_MM if grooves else 0.0
    first = inset if given.from_mm is None else given.from_mm
    last = (end - inset if grooves else length_mm) if given.to_mm is None else given.to_mm
    usual_leave = {"grooves": LEAVE_GROOVES_MM, "level": LEAVE_LEVEL_MM, "blend": 0.0}[given.kind]
    set_depth = given.depth_mm is not None
    return PlannedPass(
        name=given.name,
        kind=given.kind,
        side=given.side,
        cutter=cutter,
        body=body_of(cutter),
        rows=given.rows,
        across_mm=given.across_mm,
        from_mm=first,
        to_mm=last,
        depth_mm=given.depth_mm,
        leave_mm=usual_leave if given.leave_mm is None else given.leave_mm,
        overshoot_mm=OVERSHOOT_MM if given.overshoot_mm is None else given.overshoot_mm,
        least_metal_mm=0.0 if set_depth else LEAST_METAL_MM,
        said=True,
    )


def usual_cutter(job: Job, room_mm: float) -> Cutter:
    """Return the cutter of the usual plan: the job's first ball that fits, else its first cutter that does.

    Where none fits it is the first of them all, which ``pass_faults`` refuses.

    Parameters
    ----------
    room_mm : float
        The narrowest place of the port.
    """
    ordered = sorted(job.cutters or (USUAL_CUTTER,), key=lambda c: c.shape != "ball")
    return next((c for c in ordered if c.diameter_mm < room_mm), ordered[0])


def usual_plan(job: Job, *, length_mm: float, roof_end_mm: float, room_mm: float) -> tuple[PlannedPass, ...]:
    """Return the passes the tool plans where the job gives none: grooves, level, again if needed, blend.

    The second round is marked by its name; it is cut only where more than SECOND_ROUND_MM is left.
    """
    cutter = usual_cutter(job, room_mm)
    names: tuple[tuple[str, PassKind], ...] = (
        ("depth grooves", "grooves"),
        ("level", "level"),
        (SECOND_GROOVES, "grooves"),
        (SECOND_LEVEL, "level"),
        ("blend", "blend"),
    )
    passes = [
        planned(CutPass(name, kind, "roof", cutter.name), (cutter,), length_mm=length_mm, roof_end_mm=roof_end_mm)
        for name, kind in names
    ]
    sides: tuple[Side, ...] = ("left", "right", "floor")
    for side in sides:
        last = replace(passes[-1], name=f"blend {side}", side=side, from_mm=0.0, to_mm=length_mm)
        passes.append(last)
    return tuple(replace(p, said=False) for p in passes)


SECOND_GROOVES = "second grooves"
SECOND_LEVEL = "second level"
"""Names of the round that is cut only where enough is left."""


def usual_depth_mm(body: CutterBody) -> float:
    """Return the deepest that grooves are set by common practice with a cutter."""
    by_ball = SHARE_OF_RADIUS * body.radius_mm if body.shape == "ball" else DEEPEST_GROOVE_MM
    return min(DEEPEST_GROOVE_MM, by_ball)
