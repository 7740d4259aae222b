"""What are all the answers on flow for one stage of a port?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.amounts import PRESSURES_PA
from portgeom.job.faults import JobError
from portgeom.job.flow_values import Stated
from portgeom.job.values import Job, Note, Valve
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.flow.air import Air, air_of
from portgeom.questions.flow.along import (
    Along,
    Basis,
    Sections,
    along,
    choked_mass_kg_s,
    sections_of,
)
from portgeom.questions.flow.bench import (
    BenchPoint,
    bench_point,
    mass_kg_s,
    net_mass_kg_s,
    reading_faults,
    readings_of,
)
from portgeom.questions.flow.blocked import Blocked, blocked
from portgeom.questions.flow.demand import MACH_INDEX_LIMIT, Demand, HeldHead, demand, larger_heads
from portgeom.questions.flow.losses import Losses, losses
from portgeom.questions.flow.theoretical import Supply, Theory, supply_of, theory
from portgeom.questions.flow.valve import ValveAreas, valve_areas

USUAL_DEPRESSION = Stated(28.0 * PRESSURES_PA["inH2O"], "pressure", "inH2O")
"""Where neither the person nor a reading says one. Common practice."""

THROATS_AGREE = 0.03
"""A measured throat that differs from the valve's by more than this share of the area is told."""


@dataclass(frozen=True, slots=True)
class FlowAsked:
    """What a person asked for besides the job; None where the job's readings are to say it."""

    depression: Stated | None = None
    rate: Stated | None = None


@dataclass(frozen=True, slots=True)
class FlowState:
    """Speeds and readings of one stage of a port: what siblings and stages are compared by.

    Attributes
    ----------
    air : Air
        Of the reading the speeds are for, or the job's.
    blocked : Blocked
        What stem and boss take.
    points : tuple of BenchPoint
        Every reading, by lift.
    limit_kg_s : float
        What the smallest section passes at Mach 1.
    """

    port: LoftedPort
    stage: LoftedStage
    valve: Valve | None
    air: Air
    blocked: Blocked
    theory: Theory
    along: Along
    points: tuple[BenchPoint, ...]
    limit_kg_s: float

    @property
    def supply(self) -> Supply:
        """Return the gas at rest that the port is fed from."""
        return supply_of(self.air, self.along.basis.depression.amount, self.port.port.kind)

    def at_depression(self, depression_pa: float) -> Along:
        """Return the speeds if the smallest section ran at the theoretical speed of a depression."""
        kind, sections = self.port.port.kind, self.along.sections
        supply = supply_of(self.air, depression_pa, kind)
        stated = Stated(depression_pa, "pressure", self.along.basis.depression.unit)
        mass = _ideal_mass_kg_s(sections, theory(self.air, depression_pa, kind))
        return along(self.port, self.stage, sections, supply, Basis("depression", mass, stated), air=self.air)


@dataclass(frozen=True, slots=True)
class FlowAnswers:
    """Every answer on flow for one stage of a port.

    Attributes
    ----------
    state : FlowState
    valve : ValveAreas or None
        None without a valve of the port's kind.
    demand : Demand or None
        None without an engine, or for an exhaust port.
    larger : tuple of HeldHead
        The present head first; none where the job names no larger one.
    losses : Losses
        At the same flow as the speeds.
    throat_differs : float or None
        The measured throat over the valve's own, where they disagree.
    """

    state: FlowState
    valve: ValveAreas | None
    demand: Demand | None
    larger: tuple[HeldHead, ...]
    losses: Losses
    throat_differs: float | None

    @property
    def found(self) -> bool:
        """Return whether something calls for a look: a place out of its range, a widening that may separate, a
        reading that is too good, an engine that asks too much."""
        asks = self.demand
        small = asks is not None and asks.asked_mm2 is not None and asks.smallest_mm2 < asks.asked_mm2
        fast = asks is not None and asks.mach_index is not None and asks.mach_index.index > MACH_INDEX_LIMIT[1]
        return (
            small
            or fast
            or any(p.verdict in ("below", "above") for p in self.state.along.places)
            or any(x.cone is not None and x.cone.stall != "attached in straight ducts" for x in self.losses.ranked)
            or any(p.too_good for p in self.state.points)
        )


def flow_state(job: Job, port: LoftedPort, stage: LoftedStage, asked: FlowAsked = FlowAsked()) -> FlowState:
    """Return speeds and readings of one stage of a port.

    The flow is the rate asked for, else the largest reading of the stage, else, or where only a depression is
    asked for, what would pass if the smallest section ran at the theoretical speed.

    Raises
    ------
    JobError
        Where a reading is more than the smallest section passes at Mach 1.
    ChokedFlow
        Where the rate asked for is.
    """
    kind = port.port.kind
    valve = next((v for v in job.valves if v.kind == kind), None)
    taken = blocked(port, stage.surface, valve)
    sections = sections_of(port, stage, taken)
    readings = readings_of(job, port.port.name, stage.stage.name)
    faults = reading_faults(job, kind, readings, sections)
    if faults:
        raise JobError(faults)
    points = tuple(bench_point(r, job, kind, valve, sections) for r in readings)
    best = max(points, key=lambda p: p.mass_kg_s, default=None)
    of_reading = best is not None and asked.rate is None and asked.depression is None
    air = best.air if best is not None else air_of(job.air)
    depression = asked.depression or (best.reading.depression if best is not None else USUAL_DEPRESSION)
    reckoned = theory(air, depression.amount, kind)
    supply = supply_of(air, depression.amount, kind)
    if asked.rate is not None:
        basis = Basis("rate", mass_kg_s(asked.rate, air), depression)
    elif of_reading and best is not None:
        basis = Basis("reading", net_mass_kg_s(best.reading, air), depression, best.reading)
    else:
        basis = Basis("depression", _ideal_mass_kg_s(sections, reckoned), depression)
    return FlowState(
        port=port,
        stage=stage,
        valve=valve,
        air=air,
        blocked=taken,
        theory=reckoned,
        along=along(port, stage, sections, supply, basis, air=air),
        points=points,
        limit_kg_s=choked_mass_kg_s(sections, supply),
    )


def _ideal_mass_kg_s(sections: Sections, reckoned: Theory) -> float:
    return reckoned.flux_kg_s_m2 * 1e-6 * float(sections.net_mm2[sections.smallest])


def flow_answers(job: Job, state: FlowState) -> FlowAnswers:
    """Return every answer on flow for one stage of a port."""
    sections, valve = state.along.sections, state.valve
    areas = None if valve is None else valve_areas(valve, port_mm2=sections.before_mm2)
    asks = None
    if job.engine is not None and state.port.port.kind == "intake":
        asks = demand(job.engine, state.air, sections, valve, state.points)
    differs = None
    if areas is not None:
        ratio = float(sections.net_mm2[sections.throat]) / areas.throat_net_mm2
        differs = ratio if abs(ratio - 1.0) > THROATS_AGREE else None
    return FlowAnswers(
        state=state,
        valve=areas,
        demand=asks,
        larger=() if valve is None else larger_heads(valve, state.along.places),
        losses=losses(state.port, state.stage, state.supply, state.air, state.along.basis.mass_kg_s),
        throat_differs=differs,
    )


def flow_told(job: Job) -> bool:
    """Return whether a job says anything of flow: a valve, a bench reading or the engine."""
    return bool(job.valves or job.flow or job.engine)


def all_states(job: Job, ports: Sequence[LoftedPort]) -> tuple[FlowState, ...]:
    """Return every stage of some ports, for comparing them."""
    return tuple(flow_state(job, port, stage) for port in ports for stage in port.stages)


def flow_faults(job: Job, ports: Sequence[LoftedPort]) -> tuple[Note, ...]:
    """Return a fault for every bench reading that its port cannot pass."""
    faults: list[Note] = []
    for port in ports:
        for stage in port.stages:
            readings = readings_of(job, port.port.name, stage.stage.name)
            if readings:
                valve = next((v for v in job.valves if v.kind == port.port.kind), None)
                sections = sections_of(port, stage, blocked(port, stage.surface, valve))
                faults += reading_faults(job, port.port.kind, readings, sections)
    return tuple(faults)
