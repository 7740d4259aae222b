"""How do siblings and stages compare at one depression, and did the bench follow what the metal did?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from portgeom.job.flow_values import FlowReading
from portgeom.job.values import PlaceName, PortKind
from portgeom.questions.flow.bench import BenchPoint
from portgeom.questions.flow.theoretical import theory

if TYPE_CHECKING:
    from portgeom.questions.flow.whole import FlowState

_Held: TypeAlias = "tuple[FlowState, Beside]"

SAME_LIFT_MM = 0.05
"""Lifts no further apart are the same lift."""


@dataclass(frozen=True, slots=True)
class PlaceAt:
    """A named place at the common depression: net area, percent of the net throat, speed."""

    name: PlaceName
    net_mm2: float
    throat_percent: float
    speed_m_s: float


@dataclass(frozen=True, slots=True)
class Beside:
    """One stage of one port at the common depression.

    ``most_m3_s`` is what would pass if its smallest section ran at the theoretical speed; ``best`` the largest
    reading of its own, brought to the common depression, None without one.
    """

    port: str
    stage: str
    kind: PortKind
    volume_mm3: float
    smallest_mm2: float
    smallest_at_mm: float
    most_m3_s: float
    best_m3_s: float | None
    best_lift_mm: float | None
    places: tuple[PlaceAt, ...]


@dataclass(frozen=True, slots=True)
class AtLift:
    """Two readings at one lift, both at the first one's depression and air of the room."""

    lift_mm: float
    before_m3_s: float
    after_m3_s: float

    @property
    def percent(self) -> float:
        """Return by how much the second is more, in percent."""
        return 100.0 * (self.after_m3_s / self.before_m3_s - 1.0)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two states of ports held against each other: two stages of one port, or two siblings.

    Attributes
    ----------
    before, after : Beside
    lifts : tuple of AtLift
        Where both were read.
    unlike : tuple of str
        What was not alike on the bench, so that the flows compare less well than the sections.
    """

    before: Beside
    after: Beside
    lifts: tuple[AtLift, ...]
    unlike: tuple[str, ...]

    @property
    def volume_percent(self) -> float:
        """Return by how much the volume is more."""
        return 100.0 * (self.after.volume_mm3 / self.before.volume_mm3 - 1.0)

    @property
    def smallest_percent(self) -> float:
        """Return by how much the smallest net area is more."""
        return 100.0 * (self.after.smallest_mm2 / self.before.smallest_mm2 - 1.0)


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Every state at one depression, and pairs of them: stages of a port in turn, those read, and siblings' latest."""

    depression_pa: float
    states: tuple[Beside, ...]
    pairs: tuple[Pair, ...]


def side_by_side(states: Sequence[FlowState], depression_pa: float) -> SideBySide:
    """Return states of ports at one depression. Each port's states are in the order measured."""
    beside = [(s, _beside(s, depression_pa)) for s in states]
    ports = dict.fromkeys(one.port for _, one in beside)
    stages = [[x for x in beside if x[1].port == name] for name in ports]
    pairs = [_pair(*two) for own in stages for two in _in_turn(own)]
    latest = [own[-1] for own in stages]
    siblings = [_pair(a, b) for a, b in pairwise(latest) if a[1].kind == b[1].kind]
    return SideBySide(depression_pa, tuple(b for _, b in beside), (*pairs, *siblings))


def _in_turn(own: Sequence[_Held]) -> list[tuple[_Held, _Held]]:
    """Return the stages of a port two by two, and those that were read on the bench two by two besides."""
    turn = list(pairwise(range(len(own))))
    read = [k for k, (state, _) in enumerate(own) if state.points]
    return [(own[i], own[j]) for i, j in [*turn, *(p for p in pairwise(read) if p not in turn)]]


def _beside(state: FlowState, depression_pa: float) -> Beside:
    reckoned = theory(state.air, depression_pa, state.port.port.kind)
    sections, j = state.along.sections, state.along.sections.smallest
    area = float(sections.net_mm2[j])
    ideal = state.at_depression(depression_pa)
    best = max(state.points, key=lambda p: p.effective_mm2, default=None)
    return Beside(
        port=state.port.port.name,
        stage=state.stage.stage.name,
        kind=state.port.port.kind,
        volume_mm3=float(state.stage.surface.volume_mm3.sum()),
        smallest_mm2=area,
        smallest_at_mm=float(sections.distance_mm[j]),
        most_m3_s=reckoned.volume_m3_s_mm2 * area,
        best_m3_s=None if best is None else best.effective_mm2 * reckoned.volume_m3_s_mm2,
        best_lift_mm=None if best is None else best.reading.lift_mm,
        places=tuple(PlaceAt(p.name, p.at.net_mm2, p.at.throat_percent, p.at.speed_m_s) for p in ideal.places),
    )


def _pair(one: _Held, other: _Held) -> Pair:
    (before, a), (after, b) = one, other
    lifts: list[AtLift] = []
    matched: list[tuple[FlowReading, FlowReading]] = []
    for p in before.points:
        q = next((q for q in after.points if abs(q.reading.lift_mm - p.reading.lift_mm) <= SAME_LIFT_MM), None)
        if q is not None:
            lifts.append(_at_lift(p, q, before))
            matched.append((p.reading, q.reading))
    return Pair(a, b, tuple(lifts), _unlike(matched))


def _at_lift(p: BenchPoint, q: BenchPoint, state: FlowState) -> AtLift:
    """Bring the second reading to the first one's depression and air: its effective area stays what it is."""
    reckoned = theory(p.air, p.reading.depression.amount, state.port.port.kind)
    return AtLift(p.reading.lift_mm, p.volume_m3_s, q.effective_mm2 * reckoned.volume_m3_s_mm2)


def _unlike(matched: Sequence[tuple[FlowReading, FlowReading]]) -> tuple[str, ...]:
    def differs(name: str) -> bool:
        return any(getattr(a, name) != getattr(b, name) for a, b in matched)

    told = [
        words
        for name, words in (
            ("bench", "the bench"),
            ("entry_radius_mm", "the radius at the entry"),
            ("exhaust_pipe", "the exhaust pipe"),
        )
        if differs(name)
    ]
    if any(abs(a.depression.amount - b.depression.amount) > 1e-3 * a.depression.amount for a, b in matched):
        told.append("the depression (brought to the first)")
    return tuple(told)
