"""Where in a port is total pressure lost, and how much do published correlations differ on it?

Friction from station to station, every bend, every run in which the section narrows or widens. A coefficient for
a whole bend or run is shared out over its stretches, since pieces of a bend do not lose as much as the bend.
Nothing here sees the valve, the stem, a step, or what one bend does to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan, degrees, pi, sqrt
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.job.values import PortKind
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.flow.air import Air
from portgeom.questions.flow.bends import Bend, Turn, bends_of, turns_of
from portgeom.questions.flow.correlations import (
    Coefficient,
    bend_coefficients,
    contraction_coefficients,
    diffuser_coefficients,
    friction_factors,
)
from portgeom.questions.flow.theoretical import Supply

LossKind: TypeAlias = Literal["friction", "bend", "contraction", "diffusion"]
Stall: TypeAlias = Literal["attached in straight ducts", "may separate", "stalls in straight ducts"]

RUN_SHARE = 0.01
"""A run of narrowing or widening goes on over ripples smaller than this share of the area."""

BEST_CONE_DEG, STALL_CONE_DEG = 7.0, 10.0
"""Full cone angles. Up to the first, straight conical diffusers lose least and stay attached; from the second,
depending on their length, transitory stall sets in (White; Kline; Idelchik; Miller: from memory). A straight
rectangular one of 9.35 degrees separates (Cherry et al. 2008), a bent one of 2.5 does (Wellborn et al. 1994)."""


@dataclass(frozen=True, slots=True)
class Cone:
    """A run that widens, as a cone: area ratio, length over inlet radius, full angle, and what maps say of it."""

    area_ratio: float
    length_ratio: float
    angle_deg: float
    stall: Stall
    ideal_recovery: float


@dataclass(frozen=True, slots=True)
class Loss:
    """One cause of loss.

    Attributes
    ----------
    coefficients : tuple of Coefficient
        By every method whose range holds it; for friction those of the stretch that loses most.
    low_pa, high_pa : float
        Least and most of total pressure lost, over the methods.
    shares : (k,) float
        The share of each stretch between stations, the stretches in the order of the path; they sum to 1.
    bend : Bend or None
    cone : Cone or None
        Of a diffusion.
    area_ratio : float
        Downstream over upstream area.
    """

    kind: LossKind
    from_mm: float
    to_mm: float
    coefficients: tuple[Coefficient, ...]
    low_pa: float
    high_pa: float
    shares: F64
    area_ratio: float
    bend: Bend | None = None
    cone: Cone | None = None

    @property
    def middle_pa(self) -> float:
        """Return the middle of the spread, by which losses are ranked."""
        return 0.5 * (self.low_pa + self.high_pa)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is lost between two neighbouring stations, and what takes most of it."""

    from_station: str
    to_station: str
    from_mm: float
    to_mm: float
    low_pa: float
    high_pa: float
    most: LossKind


@dataclass(frozen=True, slots=True)
class Losses:
    """The losses of a stage of a port from face to throat, at one flow.

    ``ranked`` are the causes, the largest first; ``stretches`` in the order of the path.
    """

    ranked: tuple[Loss, ...]
    stretches: tuple[Stretch, ...]
    bends: tuple[Bend, ...]
    low_pa: float
    high_pa: float


@dataclass(frozen=True, slots=True)
class _Flow:
    """Area, hydraulic diameter, dynamic pressure and Reynolds number at every slab."""

    area_mm2: F64
    hydraulic_mm: F64
    dynamic_pa: F64
    reynolds: F64


def losses(port: LoftedPort, stage: LoftedStage, supply: Supply, air: Air, mass_kg_s: float) -> Losses:
    """Return an estimate of where total pressure is lost at a flow that the port can pass."""
    surface, last = stage.surface, port.chart.slab_at(port.throat_mm)
    slab = stage.slab[stage.slab <= last]
    if len(slab) < 2:
        return Losses((), (), (), 0.0, 0.0)
    turns = turns_of(surface, slab)
    bends = bends_of(surface, turns)
    flow = _flow(surface, supply, air, mass_kg_s)
    found = [_friction(port.chart.distance_mm, turns, flow, slab)]
    found += [_bend(b, turns, flow) for b in bends]
    found += _runs(port.chart.distance_mm, turns, flow, slab, port.port.kind)
    names = [r.station for r in stage.stage.sections.rows]
    return Losses(
        ranked=tuple(sorted(found, key=lambda x: -x.middle_pa)),
        stretches=_stretches(found, names, port.chart.distance_mm[slab]),
        bends=bends,
        low_pa=sum(x.low_pa for x in found),
        high_pa=sum(x.high_pa for x in found),
    )


def _flow(surface: Surface, supply: Supply, air: Air, mass_kg_s: float) -> _Flow:
    area = surface.flow_area_mm2
    mach = supply.mach_at_flux(np.minimum(mass_kg_s / (1e-6 * area), supply.choked_flux))
    speed, density = supply.speed_m_s(mach), supply.density_kg_m3(mach)
    hydraulic = 4.0 * surface.area_mm2 / surface.perimeter_mm
    reynolds = mass_kg_s / (1e-6 * area) * 1e-3 * hydraulic / air.viscosity_pa_s
    return _Flow(area, hydraulic, 0.5 * density * speed**2, reynolds)


def _friction(distance: F64, turns: Sequence[Turn], flow: _Flow, slab: Int) -> Loss:
    """Return friction, stretch by stretch, each with its own mean dynamic pressure, diameter and factor."""
    lost, factors = [], []
    for turn in turns:
        here = slice(turn.first, turn.last + 1)
        hydraulic_m = 1e-3 * turn.hydraulic_mm
        factor = friction_factors(float(flow.reynolds[here].mean()), hydraulic_m)
        factors.append(factor)
        run = 1e-3 * turn.length_mm / hydraulic_m * float(flow.dynamic_pa[here].mean())
        lost.append([f.value * run for f in factor])
    table = np.array(lost)
    total = table.sum(axis=0)
    middle = 0.5 * (table.min(axis=1) + table.max(axis=1))
    return Loss(
        kind="friction",
        from_mm=float(distance[turns[0].first]),
        to_mm=float(distance[turns[-1].last]),
        coefficients=factors[int(np.argmax(middle))],
        low_pa=float(total.min()),
        high_pa=float(total.max()),
        shares=middle / middle.sum(),
        area_ratio=1.0,
    )


def _bend(bend: Bend, turns: Sequence[Turn], flow: _Flow) -> Loss:
    """Return a bend's loss: its coefficient on the dynamic pressure of each stretch, shared out by turning."""
    weight = np.zeros(len(turns))
    for k in bend.turns:
        here = slice(turns[k].first, turns[k].last + 1)
        weight[k] = turns[k].turn_deg / bend.turn_deg * float(flow.dynamic_pa[here].mean())
    first, last = turns[bend.turns[0]].first, turns[bend.turns[-1]].last
    reynolds = float(flow.reynolds[first : last + 1].mean())
    found = bend_coefficients(1e-3 * bend.hydraulic_mm, bend.turn_deg, bend.radius_ratio, reynolds)
    values = [c.value for c in found] or [0.0]
    return Loss(
        kind="bend",
        from_mm=bend.from_mm,
        to_mm=bend.to_mm,
        coefficients=found,
        low_pa=min(values) * float(weight.sum()),
        high_pa=max(values) * float(weight.sum()),
        shares=weight / weight.sum(),
        area_ratio=bend.area_ratio,
        bend=bend,
    )


def _runs(distance: F64, turns: Sequence[Turn], flow: _Flow, slab: Int, kind: PortKind) -> list[Loss]:
    """Return a loss for every run of stations in which the section narrows or widens, in the way of the flow."""
    ends = turning_points(flow.area_mm2[slab])
    found = []
    for a, b in pairwise(ends):
        inflow, outflow = (b, a) if kind == "exhaust" else (a, b)
        before, after = float(flow.area_mm2[slab[inflow]]), float(flow.area_mm2[slab[outflow]])
        if abs(np.log(after / before)) < RUN_SHARE:
            continue
        length_mm = sum(t.length_mm for t in turns[a:b])
        loss = _cone_loss(before, after, length_mm, flow, int(slab[inflow if before < after else outflow]))
        dynamic = np.abs(np.diff(flow.dynamic_pa[slab[a : b + 1]]))
        shares = np.zeros(len(turns))
        shares[a:b] = dynamic / dynamic.sum()
        found.append(replace(loss, from_mm=float(distance[slab[a]]), to_mm=float(distance[slab[b]]), shares=shares))
    return found


def _cone_loss(before_mm2: float, after_mm2: float, length_mm: float, flow: _Flow, narrow: int) -> Loss:
    before, after, length = (2e-3 * sqrt(before_mm2 / pi)), (2e-3 * sqrt(after_mm2 / pi)), 1e-3 * length_mm
    reynolds = float(flow.reynolds[narrow])
    widens = after > before
    ask = diffuser_coefficients if widens else contraction_coefficients
    found = ask(before, after, length, reynolds)
    values, dynamic = [c.value for c in found], float(flow.dynamic_pa[narrow])
    return Loss(
        kind="diffusion" if widens else "contraction",
        from_mm=0.0,
        to_mm=0.0,
        coefficients=found,
        low_pa=min(values) * dynamic,
        high_pa=max(values) * dynamic,
        shares=np.zeros(0),
        area_ratio=after_mm2 / before_mm2,
        cone=cone(before_mm2, after_mm2, length_mm) if widens else None,
    )


def cone(before_mm2: float, after_mm2: float, length_mm: float) -> Cone:
    """Return a widening run as a cone of the same areas and length.

    Examples
    --------
    >>> round(cone(100.0, 213.0, 4.66 * (100.0 / pi) ** 0.5).angle_deg, 2)
    11.26
    """
    small, large = sqrt(before_mm2 / pi), sqrt(after_mm2 / pi)
    angle = 2.0 * degrees(atan((large - small) / length_mm))
    stall: Stall = "attached in straight ducts"
    if angle > BEST_CONE_DEG:
        stall = "may separate" if angle <= STALL_CONE_DEG else "stalls in straight ducts"
    ratio = after_mm2 / before_mm2
    return Cone(ratio, length_mm / small, angle, stall, 1.0 - 1.0 / ratio**2)


def turning_points(area_mm2: F64) -> list[int]:
    """Return where areas (n,) turn from falling to rising or back, with both ends; smaller ripples are passed over.

    Examples
    --------
    >>> turning_points(np.array([10.0, 8.0, 8.02, 7.0, 9.0]))
    [0, 3, 4]
    """
    ends, extreme, way = [0], 0, 0
    for k in range(1, len(area_mm2)):
        change = np.log(area_mm2[k] / area_mm2[extreme])
        if way == 0:
            if abs(change) >= RUN_SHARE:
                way, extreme = int(np.sign(change)), k
        elif change * way >= 0.0:
            extreme = k
        elif abs(change) >= RUN_SHARE:
            ends.append(extreme)
            way, extreme = -way, k
    last = len(area_mm2) - 1
    if way != 0 and extreme != last:
        ends.append(extreme)
    return [*ends, last] if ends[-1] != last else ends


def _stretches(found: Sequence[Loss], names: Sequence[str], distance: F64) -> tuple[Stretch, ...]:
    made = []
    for k in range(len(distance) - 1):
        own = dict.fromkeys(("friction", "bend", "contraction", "diffusion"), 0.0)
        for loss in found:
            own[loss.kind] += loss.middle_pa * float(loss.shares[k])
        most: LossKind = max(found, key=lambda x: own[x.kind]).kind
        made.append(
            Stretch(
                from_station=names[k],
                to_station=names[k + 1],
                from_mm=float(distance[k]),
                to_mm=float(distance[k + 1]),
                low_pa=float(sum(x.low_pa * x.shares[k] for x in found)),
                high_pa=float(sum(x.high_pa * x.shares[k] for x in found)),
                most=most,
            )
        )
    return tuple(made)
