"""What was a port like when it came in, and what is it like now that it goes out? Nothing but what was measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

from portgeom.job.lists import PLACES
from portgeom.job.values import Job, PlaceName, PortKind
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.profile import AreaAt, Profile, profile
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import Wall, walls


@dataclass(frozen=True, slots=True)
class StageRecord:
    """One measuring of a port.

    Attributes
    ----------
    volume_mm3 : float
        From the first station to the last, of the sections.
    poured_cc : float or None
    throat_mm : float
        Diameter of a circle as large as the throat.
    throat_percent : float or None
        Of the valve's head; None where no valve is given.
    smallest : AreaAt
    """

    stage: str
    volume_mm3: float
    poured_cc: float | None
    throat_mm: float
    throat_percent: float | None
    smallest: AreaAt


@dataclass(frozen=True, slots=True)
class PlaceAreas:
    """Flow area at a named place before and after; None where no station of that stage has it."""

    place: PlaceName
    before_mm2: float | None
    after_mm2: float | None


@dataclass(frozen=True, slots=True)
class PortRecord:
    """One port, before and after.

    Attributes
    ----------
    before : StageRecord
        As it came in.
    after : StageRecord or None
        As last measured; None where it was measured only once.
    places : tuple of PlaceAreas
        From the face to the seat.
    walls : tuple of Wall
        What is left behind them as last measured, the least first; those that nothing is known of left out.
    """

    port: str
    kind: PortKind
    before: StageRecord
    after: StageRecord | None
    places: tuple[PlaceAreas, ...]
    walls: tuple[Wall, ...]

    @property
    def opened(self) -> tuple[Wall, ...]:
        """Return the walls that are open by the readings."""
        return tuple(w for w in self.walls if w.verdict == "open")

    @property
    def standing(self) -> tuple[Wall, ...]:
        """Return the walls that stand, the least first."""
        return tuple(w for w in self.walls if w.verdict != "open")


def port_record(job: Job, port: LoftedPort, stage: LoftedStage) -> PortRecord:
    """Return the record of a port from its first measuring to a later one.

    Raises
    ------
    JobError
        Where what lies behind a wall cannot be read.
    """
    first, last = profile(port, port.cast, job.limits), profile(port, stage, job.limits)
    measured_again = stage is not port.cast
    known = [w for w in walls(port, stage.surface, stage.stage.name, behind(job, port)).walls if w.least is not None]
    known.sort(key=lambda w: math.inf if w.least is None else w.least.wall_mm)
    return PortRecord(
        port=port.port.name,
        kind=port.port.kind,
        before=_stage(job, port, port.cast, first),
        after=_stage(job, port, stage, last) if measured_again else None,
        places=_places(first, last if measured_again else None),
        walls=tuple(known),
    )


def throat_diameter_mm(found: Profile) -> float:
    """Return the diameter of a circle as large as the throat."""
    return math.sqrt(4.0 * found.taper.seat_area_mm2 / math.pi)


def _stage(job: Job, port: LoftedPort, stage: LoftedStage, found: Profile) -> StageRecord:
    head = next((v.head_diameter_mm for v in job.valves if v.kind == port.port.kind), None)
    throat = throat_diameter_mm(found)
    return StageRecord(
        stage=stage.stage.name,
        volume_mm3=found.volume_mm3,
        poured_cc=stage.stage.poured_cc,
        throat_mm=throat,
        throat_percent=None if head is None else 100.0 * throat / head,
        smallest=found.smallest,
    )


def _places(first: Profile, last: Profile | None) -> tuple[PlaceAreas, ...]:
    before = {s.place: s.flow_area_mm2 for s in first.stations if s.place}
    after = {} if last is None else {s.place: s.flow_area_mm2 for s in last.stations if s.place}
    return tuple(PlaceAreas(p, before.get(p), after.get(p)) for p in PLACES if p in before or p in after)
