"""Does the volume poured agree with the model's, and if not, which single error of the readings would explain it?

The model runs from the manifold face, the first station, to the last station. Liquid poured in with the valve closed
reaches on to the inner edge of the seat, but not to where the back of the valve's head, its stem and the guide boss
are; and it fills what the plate on the face is hollowed out by. All of that is reckoned here before the two are
compared. A cause is only ever told as a size: nothing measured is changed by it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf, isfinite, pi, radians, sqrt, tan
from typing import Literal, TypeAlias

import numpy as np

from portgeom.job.values import Accuracy, Guide, Valve
from portgeom.model.lofted import LoftedPort, LoftedStage

CauseName: TypeAlias = Literal["distance scale", "path offset", "width bias"]

COVERED = 1.96
"""Half the 95 percent interval of a normal spread, in standard deviations."""

BACK_ANGLE_DEG = (10.0, 20.0, 30.0)
"""Least, usual and most lean of the back of a head whose angle the job does not give (common practice, no source)."""

THROAT_CUT_DEG = (50.0, 60.0, 75.0)
"""Likewise of the cut between the throat and the seat (common practice, no source)."""

GIVEN_SHARE = 0.02
"""Standard uncertainty of a volume reckoned from sizes that the job gives, as a share of it."""

LEAST_TURN = 0.05
"""A port that turns by less, in radians over its whole length, has no inside of a bend to speak of."""

LIKELY = 2.0
"""A cause of no more than this many standard deviations of its readings is a likely one."""


@dataclass(frozen=True, slots=True)
class Part:
    """A volume by which what is poured differs from the model: positive where it holds more.

    ``assumed`` says what was taken for want of a figure in the job, "" where nothing was.
    """

    name: str
    volume_mm3: float
    standard_mm3: float
    assumed: str


@dataclass(frozen=True, slots=True)
class Cause:
    """One error that would alone explain the difference.

    Attributes
    ----------
    name : CauseName
        "distance scale": all distances along the path are short by ``size`` as a share of them. "path offset": all
        sections lie ``size`` mm too near to the inside of the bend. "width bias": every width and height reads
        ``size`` mm too small. Negative the other way.
    in_standards : float
        The size in standard deviations of such readings, by the job's accuracy.
    """

    name: CauseName
    size: float
    in_standards: float

    @property
    def likely(self) -> bool:
        """Return whether readings are known to be off by as much."""
        return abs(self.in_standards) <= LIKELY


@dataclass(frozen=True, slots=True)
class Poured:
    """A poured volume against the model.

    Attributes
    ----------
    poured_mm3 : float
    model_mm3 : float
        From the first station to the last.
    parts : tuple of Part
        What is added to it and taken off.
    difference_mm3 : float
        Poured less expected.
    standard_mm3 : float
        Combined standard uncertainty: of the model, the parts and the pouring.
    causes : tuple of Cause
        The likeliest first.
    """

    poured_mm3: float
    model_mm3: float
    parts: tuple[Part, ...]
    difference_mm3: float
    standard_mm3: float
    causes: tuple[Cause, ...]

    @property
    def expected_mm3(self) -> float:
        """Return what the model would hold, poured in the same way."""
        return self.model_mm3 + sum(p.volume_mm3 for p in self.parts)

    @property
    def agrees(self) -> bool:
        """Return whether the difference is within the combined uncertainty."""
        return abs(self.difference_mm3) <= COVERED * self.standard_mm3


@dataclass(frozen=True, slots=True)
class NotComparable:
    """A poured volume that cannot be compared, and what the job would have to say."""

    poured_mm3: float
    missing: tuple[str, ...]


def poured(
    port: LoftedPort, stage: LoftedStage, valve: Valve | None, accuracy: Accuracy, *, volume_standard_mm3: float
) -> Poured | NotComparable | None:
    """Return a stage's poured volume against the model; None where none was poured.

    Parameters
    ----------
    valve : Valve or None
        The one that stood in the seat.
    volume_standard_mm3 : float
        Standard uncertainty of the model's volume.
    """
    if stage.stage.poured_cc is None:
        return None
    volume = 1000.0 * stage.stage.poured_cc
    missing = _missing(port, stage, valve)
    if not isfinite(volume_standard_mm3):
        missing = (*missing, "readings that are surer: drawn by its [accuracy], none of them makes a port")
    if missing:
        return NotComparable(volume, missing)
    parts = _parts(port, stage, valve)
    model = float(stage.surface.volume_mm3.sum())
    difference = volume - model - sum(p.volume_mm3 for p in parts)
    terms = [volume_standard_mm3, 1000.0 * accuracy.pour_cc, *(p.standard_mm3 for p in parts)]
    return Poured(
        poured_mm3=volume,
        model_mm3=model,
        parts=parts,
        difference_mm3=difference,
        standard_mm3=hypot(*terms),
        causes=causes_of(port, stage, accuracy, difference),
    )


def _missing(port: LoftedPort, stage: LoftedStage, valve: Valve | None) -> tuple[str, ...]:
    """Return what the job does not say and nothing could be assumed for."""
    pour = stage.stage.pour
    if pour is None:
        return ("how it was poured: pour = { valve_in = true, plate_recess_cc = 0 } in the stage",)
    missing = []
    if pour.valve_in and valve is None:
        missing.append(f'the {port.port.kind} valve: a [[valve]] of kind = "{port.port.kind}"')
    if port.port.guide is None and (pour.valve_in or not pour.boss_in_sections):
        missing.append("the valve guide: [port.guide] with its axis, boss_diameter and length")
    return tuple(missing)


def _parts(port: LoftedPort, stage: LoftedStage, valve: Valve | None) -> tuple[Part, ...]:
    pour, guide = stage.stage.pour, port.port.guide
    assert pour is not None
    parts = []
    if pour.plate_recess_cc > 0.0:
        parts.append(Part("the recess of the plate", 1000.0 * pour.plate_recess_cc, 0.0, ""))
    if guide is not None and not pour.boss_in_sections:
        boss = 0.25 * pi * guide.boss_diameter_mm**2 * guide.length_mm
        parts.append(Part("the guide boss", -boss, GIVEN_SHARE * boss, "that the sections run as if it were not there"))
    if pour.valve_in:
        assert valve is not None
        assert guide is not None
        beyond, to_seat = _to_seat(stage, valve)
        parts += [beyond, *_valve_parts(port, guide, valve, to_seat)]
    return tuple(parts)


def _to_seat(stage: LoftedStage, valve: Valve) -> tuple[Part, float]:
    """Return what lies between the last station and the seat's inner edge, and how long that is."""
    pour, last = stage.stage.pour, stage.stage.sections.rows[-1]
    assert pour is not None
    seat, throat = _seat_radius_mm(valve), sqrt(last.outline.area_mm2 / pi)
    name = "the space from the last station to the seat"
    if pour.to_seat_mm is not None or last.place == "seat":
        length = pour.to_seat_mm or 0.0
        volume = frustum_mm3(throat, seat, length)
        return Part(name, volume, GIVEN_SHARE * volume, ""), length
    rise = max(0.0, seat - throat)
    lengths = [rise * tan(radians(angle)) for angle in THROAT_CUT_DEG]
    volumes = [frustum_mm3(throat, seat, length) for length in lengths]
    words = f"a cut of {THROAT_CUT_DEG[1]:.0f} degrees from the last station to the seat; to_seat would say"
    return Part(name, volumes[1], _uniform(volumes), words), lengths[1]


def _valve_parts(port: LoftedPort, guide: Guide, valve: Valve, to_seat_mm: float) -> tuple[Part, Part]:
    """Return the back of the head, as a frustum from the seat's inner edge to the stem, and the stem over it."""
    stem, seat = 0.5 * valve.stem_diameter_mm, _seat_radius_mm(valve)
    angles = BACK_ANGLE_DEG if valve.back_angle_deg is None else (valve.back_angle_deg,) * 3
    highs = [(seat - stem) * tan(radians(angle)) for angle in angles]
    backs = [frustum_mm3(seat, stem, high) for high in highs]
    name = "the back of the valve's head"
    if valve.head_back_cc is not None:
        given = 1000.0 * valve.head_back_cc
        back = Part(name, -given, GIVEN_SHARE * given, "")
    elif valve.back_angle_deg is not None:
        back = Part(name, -backs[1], GIVEN_SHARE * backs[1], "a straight cone from seat to stem")
    else:
        words = f"a straight cone of {angles[1]:.0f} degrees from seat to stem; back_angle or head_back_cc would say"
        back = Part(name, -backs[1], _uniform(backs), words)
    rod = max(0.0, _axis_to_seat_mm(port, guide, to_seat_mm) - guide.length_mm - highs[1]) * pi * stem**2
    return back, Part("the stem", -rod, GIVEN_SHARE * rod, "")


def _seat_radius_mm(valve: Valve) -> float:
    """Return the radius of the seat's inner edge; the width of a seat is taken across it, square to the stem."""
    return 0.5 * valve.head_diameter_mm - valve.seat_width_mm


def _axis_to_seat_mm(port: LoftedPort, guide: Guide, to_seat_mm: float) -> float:
    """Return how far along the guide's axis the seat's plane is from where the axis leaves the roof."""
    planes = port.chart.planes
    start, along = guide.axis_mm[0], guide.axis_mm[1] - guide.axis_mm[0]
    normal = planes.normal[-1]
    plane = planes.origin_mm[-1] + to_seat_mm * normal
    along = along / np.linalg.norm(along)
    return float((plane - start) @ normal / (along @ normal))


def frustum_mm3(radius_mm: float, other_mm: float, high_mm: float) -> float:
    """Return the volume of a frustum of a cone.

    Examples
    --------
    >>> round(frustum_mm3(3.0, 0.0, 4.0) / pi, 9)  # a cone of radius 3 and height 4
    12.0
    """
    return pi * high_mm / 3.0 * (radius_mm**2 + radius_mm * other_mm + other_mm**2)


def _uniform(values: list[float]) -> float:
    """Return the standard deviation of what may lie anywhere between the first of some values and the last."""
    return abs(values[-1] - values[0]) / sqrt(12.0)


def causes_of(port: LoftedPort, stage: LoftedStage, accuracy: Accuracy, difference_mm3: float) -> tuple[Cause, ...]:
    """Return what would make the model's volume larger by ``difference_mm3``, the likeliest first.

    Notes
    -----
    With V the sum of integrals of A p'.d - c.d' (see :mod:`portgeom.geometry.chart`): distances that are longer by a
    share k make the first term longer by it and leave the second, which counts turns; sections moved by e along the
    plane change it by -e A u.d'; readings wider by b in both directions add a rim of half that all round.
    """
    surface, sweep = stage.surface, port.chart.sweep
    area, rim = surface.area_mm2[sweep.slab], 0.5 * surface.perimeter_mm[sweep.slab]
    along = float((sweep.weight * area * sweep.advance).sum())
    turns = (float((sweep.weight * area * turn).sum()) for turn in (sweep.turn_right, sweep.turn_up))
    aside = hypot(*turns)
    round_it = float((sweep.weight * rim * sweep.advance).sum())
    length = port.chart.path.length_mm
    scale, bias = difference_mm3 / along, difference_mm3 / round_it
    found = [
        Cause("distance scale", scale, _over(scale * length, accuracy.distance_mm)),
        Cause("width bias", bias, _over(bias, accuracy.tool_bias_mm)),
    ]
    if aside > LEAST_TURN * along / length:
        # places across are marked and read as distances along are
        found.append(Cause("path offset", difference_mm3 / aside, _over(difference_mm3 / aside, accuracy.distance_mm)))
    return tuple(sorted(found, key=lambda c: abs(c.in_standards)))


def _over(size: float, standard: float) -> float:
    if standard > 0.0:
        return size / standard
    return 0.0 if size == 0.0 else inf
