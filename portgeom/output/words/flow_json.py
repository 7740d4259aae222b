"""What does the flow of a port say to a program? Lengths and areas in the job's units, all else in SI."""

from __future__ import annotations

import math

from portgeom.job.flow_values import FlowReading
from portgeom.output.words.json_doc import Json, Numbers
from portgeom.questions.flow.along import StationSpeed
from portgeom.questions.flow.bench import BenchPoint, volume_m3_s
from portgeom.questions.flow.bends import Bend
from portgeom.questions.flow.demand import Demand
from portgeom.questions.flow.losses import Loss
from portgeom.questions.flow.side_by_side import Beside, Pair, SideBySide
from portgeom.questions.flow.valve import ValveAreas
from portgeom.questions.flow.whole import FlowAnswers, FlowState


def flow_json(answer: FlowAnswers, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``flow``. What the job does not hold is null or an empty list."""
    state = answer.state
    along = state.along
    return {
        "port": state.port.port.name,
        "stage": state.stage.stage.name,
        "air": _air(state),
        "basis": {
            "kind": along.basis.kind,
            "depression_pa": _r(along.basis.depression.amount, 3),
            "mass_kg_s": _r(along.basis.mass_kg_s, 7),
            "volume_m3_s": _r(along.basis.mass_kg_s / state.air.density_kg_m3, 7),
        },
        "theory": _theory(state),
        "places": [
            {
                "place": p.name,
                **_station(p.at, n),
                "believable_percent": None if p.believable_percent is None else list(p.believable_percent),
                "verdict": p.verdict or None,
            }
            for p in along.places
        ],
        "stations": [{"place": s.place or None, **_station(s, n)} for s in along.stations],
        "fastest": _station(along.fastest, n),
        "profile": [
            {"distance": n.length(float(s)), "net_area": n.area(float(a)), "speed_m_s": _r(float(v), 3)}
            for s, a, v in zip(along.sections.distance_mm, along.sections.net_mm2, along.speed_m_s, strict=True)
        ],
        "net_of": {"stem": state.blocked.stem, "guide_boss": state.blocked.boss, "assumed": state.blocked.assumed},
        "valve": None if answer.valve is None else _valve(answer.valve, n),
        "readings": [_point(p, n) for p in state.points],
        "demand": None if answer.demand is None else _demand(answer.demand, n),
        "heads": [
            {
                "head_diameter": n.length(x.head_diameter_mm),
                "area_ratio": _r(x.area_ratio, 5),
                "throat_net": n.area(x.throat_net_mm2),
                "percent": {str(name): _r(value, 2) for name, value in x.percent},
                "enough": x.enough,
            }
            for x in answer.larger
        ],
        "losses": {
            "low_pa": _r(answer.losses.low_pa, 2),
            "high_pa": _r(answer.losses.high_pa, 2),
            "ranked": [_loss(x, n) for x in answer.losses.ranked],
            "stretches": [
                {
                    "from_station": s.from_station,
                    "to_station": s.to_station,
                    "from": n.length(s.from_mm),
                    "to": n.length(s.to_mm),
                    "low_pa": _r(s.low_pa, 2),
                    "high_pa": _r(s.high_pa, 2),
                    "most": s.most,
                }
                for s in answer.losses.stretches
            ],
        },
    }


def side_by_side_json(beside: SideBySide, n: Numbers) -> Json:
    """Return siblings and stages at one depression."""
    return {
        "depression_pa": _r(beside.depression_pa, 3),
        "states": [_beside(s, n) for s in beside.states],
        "pairs": [_pair(p, n) for p in beside.pairs],
    }


def _air(state: FlowState) -> Json:
    air = state.air
    return {
        "temperature_k": _r(air.temperature_k, 3),
        "pressure_pa": _r(air.pressure_pa, 1),
        "humidity": _r(air.humidity, 4),
        "density_kg_m3": _r(air.density_kg_m3, 6),
        "sound_m_s": _r(air.sound_m_s, 3),
        "kappa": _r(air.kappa, 6),
        "assumed": list(air.assumed),
    }


def _theory(state: FlowState) -> Json:
    t = state.theory
    return {
        "incompressible_m_s": _r(t.bernoulli_m_s, 4),
        "compressible_m_s": _r(t.speed_m_s, 4),
        "mach": _r(t.mach, 6),
        "incompressible_m3_s_mm2": _r(t.bernoulli_m3_s_mm2, 10),
        "compressible_m3_s_mm2": _r(t.volume_m3_s_mm2, 10),
        "choked": t.choked,
        "choked_kg_s_m2": _r(t.choked_flux_kg_s_m2, 4),
        "limit_kg_s": _r(state.limit_kg_s, 6),
        "limit_m3_s": _r(state.limit_kg_s / state.air.density_kg_m3, 6),
    }


def _station(s: StationSpeed, n: Numbers) -> dict[str, Json]:
    return {
        "station": s.station or None,
        "distance": n.length(s.distance_mm),
        "flow_area": n.area(s.flow_area_mm2),
        "net_area": n.area(s.net_mm2),
        "ratio_to_smallest": _r(s.ratio_to_smallest, 6),
        "percent_of_net_throat": _r(s.throat_percent, 3),
        "speed_m_s": _r(s.speed_m_s, 3),
        "mach": _r(s.mach, 5),
    }


def _valve(areas: ValveAreas, n: Numbers) -> Json:
    return {
        "throat_net": n.area(areas.throat_net_mm2),
        "port_smallest": n.area(areas.port_mm2),
        "head_area": n.area(areas.head_mm2),
        "throat_percent_of_head": _r(areas.throat_percent, 3),
        "joins": [n.length(areas.joins.first_mm), n.length(areas.joins.second_mm)],
        "openings": [
            {
                "lift": n.length(o.lift_mm),
                "lift_ratio": _r(o.lift_ratio, 5),
                "curtain": n.area(o.curtain_mm2),
                "opening": n.area(o.opening_mm2),
                "regime": o.regime,
                "smallest": o.smallest,
                "smallest_area": n.area(o.smallest_mm2),
                "beyond_quarter": o.beyond_quarter,
            }
            for o in areas.openings
        ],
    }


def _point(p: BenchPoint, n: Numbers) -> Json:
    c = p.coefficients
    return {
        **_reading(p.reading, n),
        "density_kg_m3": _r(p.air.density_kg_m3, 6),
        "leak_m3_s": None if p.reading.leak is None else _r(volume_m3_s(p.reading.leak, p.air), 7),
        "mass_kg_s": _r(p.mass_kg_s, 7),
        "volume_m3_s": _r(p.volume_m3_s, 7),
        "effective_area": n.area(p.effective_mm2),
        "coefficients": None
        if c is None
        else {
            "curtain": _r(c.curtain, 5),
            "opening": _r(c.opening, 5),
            "throat": _r(c.throat, 5),
            "head": _r(c.head, 5),
        },
        "smallest": p.limits or None,
        "beyond_quarter": p.beyond_quarter,
        "too_good": p.too_good,
    }


def _reading(r: FlowReading, n: Numbers) -> dict[str, Json]:
    return {
        "lift": n.length(r.lift_mm),
        "depression_pa": _r(r.depression.amount, 3),
        "bench": r.bench or None,
        "date": r.date or None,
        "entry_radius": None if r.entry_radius_mm is None else n.length(r.entry_radius_mm),
        "exhaust_pipe": r.exhaust_pipe or None,
    }


def _demand(asks: Demand, n: Numbers) -> Json:
    index = asks.mach_index
    return {
        "volumetric_efficiency": asks.efficiency,
        "efficiency_assumed": asks.efficiency_assumed,
        "piston_speed_m_s": _r(asks.piston_speed_m_s, 4),
        "mean_m3_s": _r(asks.mean_m3_s, 6),
        "stroke_m3_s": _r(asks.stroke_m3_s, 6),
        "smallest_m_s": _r(asks.smallest_m_s, 3),
        "asked_area": None if asks.asked_mm2 is None else n.area(asks.asked_mm2),
        "mach_index": None
        if index is None
        else {
            "index": _r(index.index, 5),
            "coefficient": _r(index.coefficient, 5),
            "from_readings": index.from_readings,
        },
    }


def _loss(loss: Loss, n: Numbers) -> Json:
    cone = loss.cone
    return {
        "kind": loss.kind,
        "from": n.length(loss.from_mm),
        "to": n.length(loss.to_mm),
        "low_pa": _r(loss.low_pa, 2),
        "high_pa": _r(loss.high_pa, 2),
        "area_ratio": _r(loss.area_ratio, 5),
        "coefficients": {c.method: _r(c.value, 6) for c in loss.coefficients},
        "bend": None if loss.bend is None else _bend(loss.bend, n),
        "cone": None
        if cone is None
        else {
            "angle_deg": _r(cone.angle_deg, 3),
            "length_over_inlet_radius": _r(cone.length_ratio, 4),
            "stall": cone.stall,
            "ideal_recovery": _r(cone.ideal_recovery, 5),
        },
    }


def _bend(bend: Bend, n: Numbers) -> Json:
    at = bend.tightest
    return {
        "turn_deg": _r(bend.turn_deg, 3),
        "radius_ratio": _r(bend.radius_ratio, 4),
        "at": n.length(at.distance_mm),
        "inside_clock_deg": _r(at.clock_deg, 1),
        "inside_over_outside": None if at.inside_outside is None else _r(at.inside_outside, 4),
        "inside_over_mean": None if at.inside_mean is None else _r(at.inside_mean, 4),
    }


def _beside(s: Beside, n: Numbers) -> Json:
    return {
        "port": s.port,
        "stage": s.stage,
        "volume_cc": _r(1e-3 * s.volume_mm3, 4),
        "smallest": {"distance": n.length(s.smallest_at_mm), "net_area": n.area(s.smallest_mm2)},
        "most_m3_s": _r(s.most_m3_s, 6),
        "best_m3_s": None if s.best_m3_s is None else _r(s.best_m3_s, 6),
        "best_lift": None if s.best_lift_mm is None else n.length(s.best_lift_mm),
        "places": [
            {
                "place": p.name,
                "net_area": n.area(p.net_mm2),
                "percent_of_net_throat": _r(p.throat_percent, 3),
                "speed_m_s": _r(p.speed_m_s, 3),
            }
            for p in s.places
        ],
    }


def _pair(p: Pair, n: Numbers) -> Json:
    return {
        "before": {"port": p.before.port, "stage": p.before.stage},
        "after": {"port": p.after.port, "stage": p.after.stage},
        "volume_percent": _r(p.volume_percent, 3),
        "smallest_percent": _r(p.smallest_percent, 3),
        "lifts": [
            {
                "lift": n.length(x.lift_mm),
                "before_m3_s": _r(x.before_m3_s, 7),
                "after_m3_s": _r(x.after_m3_s, 7),
                "percent": _r(x.percent, 3),
            }
            for x in p.lifts
        ],
        "unlike": list(p.unlike),
    }


def _r(value: float, digits: int) -> float | None:
    return None if not math.isfinite(value) else round(float(value), digits) + 0.0
