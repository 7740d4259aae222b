"""What does a job say of the flow bench, its air and the engine? SI, with the unit each amount was written in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Quantity: TypeAlias = Literal["pressure", "volume flow", "mass flow", "temperature", "speed"]


@dataclass(frozen=True, slots=True)
class Stated:
    """An amount as a person wrote it: ``amount`` in SI, and the unit to show it in again."""

    amount: float
    quantity: Quantity
    unit: str


@dataclass(frozen=True, slots=True)
class AirGiven:
    """The air a bench drew, as far as it was noted. None is for what was not.

    ``temperature_k`` and ``pressure_pa`` are those of the room, ``humidity`` is relative, from 0 to 1.
    """

    temperature_k: float | None = None
    pressure_pa: float | None = None
    humidity: float | None = None


@dataclass(frozen=True, slots=True)
class FlowReading:
    """One flow-bench reading.

    Attributes
    ----------
    depression, rate : Stated
        The test pressure, and the flow as the bench told it, its leak still in it.
    leak : Stated or None
        What flowed with the valve shut, at the same depression.
    entry_radius_mm : float or None
        Of what was put round the face to lead the air in; None where nothing is said.
    bench, date, exhaust_pipe : str
        As written, "" where nothing is said.
    air : AirGiven or None
        The air of this reading, where it is not the job's.
    number, row : int
        Which ``[[flow]]`` of the job it stands in, from 1, and the row of its rate in job.toml, 0 if unknown.
    """

    port: str
    stage: str
    depression: Stated
    lift_mm: float
    rate: Stated
    leak: Stated | None = None
    bench: str = ""
    date: str = ""
    entry_radius_mm: float | None = None
    exhaust_pipe: str = ""
    air: AirGiven | None = None
    number: int = 1
    row: int = 0


@dataclass(frozen=True, slots=True)
class Engine:
    """The engine the port is for: a four-stroke, one cylinder of it.

    ``volumetric_efficiency`` and ``flow_coefficient`` (Taylor's mean inlet flow coefficient, on the area of
    the valve's head) are shares of one, None where the job does not say.
    """

    bore_mm: float
    stroke_mm: float
    speed_rpm: float
    volumetric_efficiency: float | None = None
    intake_valves: int = 1
    flow_coefficient: float | None = None
    speed_limit: Stated | None = None
