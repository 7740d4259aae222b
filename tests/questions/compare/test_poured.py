"""Poured against computed: closed forms of every part, what is missing is told, causes come out as put in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import hypot, pi, radians, sqrt, tan

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.stage_values import Pour
from portgeom.job.values import Accuracy, Guide, Job, SectionTable, Valve
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.compare.poured import Cause, NotComparable, Poured, causes_of, poured

RADIUS, LENGTH = 21.0, 80.0
GUIDE = Guide(np.array([[0.0, 20.0, 0.0], [0.0, 60.0, 0.0]]), boss_diameter_mm=12.0, length_mm=10.0)
VALVE = Valve("intake", 48.0, 42.0, 8.0, 45.0, 1.5, back_angle_deg=20.0)
VALVE_IN = Pour(True, 0.0, to_seat_mm=2.0)
TUBE = pi * RADIUS**2 * LENGTH
BOSS = pi / 4.0 * 12.0**2 * 10.0
SEAT, STEM = 24.0 - 1.5, 4.0


def cone(one: float, other: float, high: float) -> float:
    """Volume of a frustum: Machinery's Handbook, 31st ed., p. 90."""
    return pi / 3.0 * high * (one**2 + one * other + other**2)


BACK_HIGH = (SEAT - STEM) * tan(radians(20.0))
BEYOND = cone(RADIUS, SEAT, 2.0)
ROD = pi * STEM**2 * (LENGTH + 2.0 - 20.0 - 10.0 - BACK_HIGH)


@pytest.fixture
def tube(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., LoftedPort]:
    """Return a straight tube along y with its guide in it, poured as said."""

    def of(
        pour: Pour | None, *, cc: float | None = 100.0, guide: Guide | None = GUIDE, last: str = "throat"
    ) -> LoftedPort:
        table = table_of([0.0, 40.0, LENGTH], [circle(2.0 * RADIUS)] * 3, places=["face", "", last])
        job = job_of(table, guide=guide)
        (port,) = job.ports
        stage = replace(port.stages[0], poured_cc=cc, pour=pour)
        return loft_job(replace(job, ports=(replace(port, stages=(stage,)),)))[0]

    return of


def asked(port: LoftedPort, valve: Valve | None = VALVE, *, sd: float = 0.0) -> Poured:
    found = poured(port, port.cast, valve, Accuracy(pour_cc=0.5), volume_standard_mm3=sd)
    assert isinstance(found, Poured)
    return found


def test_with_the_valve_closed_stem_head_and_boss_are_taken_off(tube: Callable[..., LoftedPort]) -> None:
    found = asked(tube(VALVE_IN))
    parts = {p.name: p.volume_mm3 for p in found.parts}
    assert parts == pytest.approx(
        {
            "the guide boss": -BOSS,
            "the space from the last station to the seat": BEYOND,
            "the back of the valve's head": -cone(SEAT, STEM, BACK_HIGH),
            "the stem": -ROD,
        },
        rel=1e-6,
    )
    assert found.expected_mm3 == pytest.approx(TUBE + BEYOND - BOSS - cone(SEAT, STEM, BACK_HIGH) - ROD, rel=1e-4)


def test_a_plugged_port_has_only_its_boss_in_it(tube: Callable[..., LoftedPort]) -> None:
    assert asked(tube(Pour(False, 0.0)), None).expected_mm3 == pytest.approx(TUBE - BOSS, rel=1e-4)


def test_sections_round_the_boss_have_taken_it_off_already(tube: Callable[..., LoftedPort]) -> None:
    assert asked(tube(Pour(False, 0.0, boss_in_sections=True), guide=None), None).parts == ()


def test_the_plate_adds_what_it_is_hollowed_out_by(tube: Callable[..., LoftedPort]) -> None:
    flat, hollow = asked(tube(VALVE_IN)), asked(tube(replace(VALVE_IN, plate_recess_cc=1.5)))
    assert hollow.expected_mm3 - flat.expected_mm3 == pytest.approx(1500.0)


def test_a_head_whose_back_was_measured_is_taken_at_that(tube: Callable[..., LoftedPort]) -> None:
    found = asked(tube(VALVE_IN), replace(VALVE, head_back_cc=4.2))
    assert {p.name: p.volume_mm3 for p in found.parts}["the back of the valve's head"] == pytest.approx(-4200.0)


def test_a_last_station_at_the_seat_has_nothing_beyond_it(tube: Callable[..., LoftedPort]) -> None:
    found = asked(tube(Pour(True, 0.0), last="seat"))
    assert {p.name: p.volume_mm3 for p in found.parts}["the space from the last station to the seat"] == 0.0


def test_what_is_assumed_is_told_and_makes_the_verdict_less_sure(tube: Callable[..., LoftedPort]) -> None:
    sure = asked(tube(VALVE_IN))
    guessed = asked(tube(Pour(True, 0.0)), replace(VALVE, back_angle_deg=None))
    told = {p.name: p.assumed for p in guessed.parts if p.assumed}
    assert "back_angle or head_back_cc would say" in told["the back of the valve's head"]
    assert "to_seat would say" in told["the space from the last station to the seat"]
    backs = [cone(SEAT, STEM, (SEAT - STEM) * tan(radians(a))) for a in (10.0, 30.0)]
    beyond = [cone(RADIUS, SEAT, (SEAT - RADIUS) * tan(radians(a))) for a in (50.0, 75.0)]
    spread = {p.name: p.standard_mm3 for p in guessed.parts}
    # anywhere between two values: their distance over the root of 12 (JCGM 101, 6.4.2)
    assert spread["the back of the valve's head"] == pytest.approx((backs[1] - backs[0]) / sqrt(12.0))
    assert spread["the space from the last station to the seat"] == pytest.approx(
        (beyond[1] - beyond[0]) / sqrt(12.0), rel=1e-6
    )
    assert guessed.standard_mm3 > sure.standard_mm3


def test_the_verdict_is_by_the_combined_uncertainty(tube: Callable[..., LoftedPort]) -> None:
    expected = asked(tube(VALVE_IN)).expected_mm3 / 1000.0
    parts = [p.standard_mm3 for p in asked(tube(VALVE_IN)).parts]
    combined = hypot(900.0, 500.0, *parts)
    for factor, agrees in ((1.9, True), (2.0, False)):
        for way in (1.0, -1.0):
            cc = expected + way * factor * combined / 1000.0
            found = asked(tube(VALVE_IN, cc=cc), sd=900.0)
            assert found.standard_mm3 == pytest.approx(combined)
            assert found.difference_mm3 == pytest.approx(way * factor * combined, rel=1e-6)
            assert found.agrees is agrees


@pytest.mark.parametrize(
    ("pour", "valve", "guide", "missing"),
    [
        (None, VALVE, GUIDE, ["how it was poured"]),
        (VALVE_IN, None, GUIDE, ["the intake valve"]),
        (VALVE_IN, VALVE, None, ["the valve guide"]),
        (VALVE_IN, None, None, ["the intake valve", "the valve guide"]),
        (Pour(False, 0.0), None, None, ["the valve guide"]),
    ],
)
def test_without_the_figures_it_cannot_be_compared(
    tube: Callable[..., LoftedPort], pour: Pour | None, valve: Valve | None, guide: Guide | None, missing: list[str]
) -> None:
    port = tube(pour, guide=guide)
    found = poured(port, port.cast, valve, Accuracy(), volume_standard_mm3=0.0)
    assert isinstance(found, NotComparable)
    assert [m.split(":")[0] for m in found.missing] == missing


def test_a_model_nobody_knows_how_sure_cannot_be_compared(tube: Callable[..., LoftedPort]) -> None:
    port = tube(VALVE_IN)
    found = poured(port, port.cast, VALVE, Accuracy(), volume_standard_mm3=float("nan"))
    assert isinstance(found, NotComparable)


def test_a_stage_that_was_not_poured_says_nothing(tube: Callable[..., LoftedPort]) -> None:
    port = tube(VALVE_IN, cc=None)
    assert poured(port, port.cast, VALVE, Accuracy(), volume_standard_mm3=0.0) is None


BEND = 60.0
TURN = pi / 2.0


@pytest.fixture
def bend(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> LoftedPort:
    """Return a quarter of a torus."""
    pitch = np.linspace(0.0, 90.0, 10)
    table = table_of(np.radians(pitch) * BEND, [circle(2.0 * RADIUS)] * 10, pitch_deg=pitch)
    return loft_job(job_of(table))[0]


def size_of(port: LoftedPort, name: str, true_mm3: float) -> float:
    """Return the size of a cause that would make the model hold a true volume."""
    model = float(port.cast.surface.volume_mm3.sum())
    causes = {c.name: c for c in causes_of(port, port.cast, Accuracy(), true_mm3 - model)}
    return causes[name].size


# Pappus: what a torus holds is its section times the way of its centroid


def test_distances_that_were_short_come_out_as_such(bend: LoftedPort) -> None:
    """All distances 1 percent short: the turns are as they were, so the bend's radius grows by 1 percent."""
    true = pi * RADIUS**2 * TURN * 1.01 * BEND
    assert size_of(bend, "distance scale", true) == pytest.approx(0.01, rel=1e-2)


def test_sections_too_near_the_inside_come_out_as_such(bend: LoftedPort) -> None:
    true = pi * RADIUS**2 * TURN * (BEND + 0.5)
    assert size_of(bend, "path offset", true) == pytest.approx(0.5, rel=1e-2)


def test_widths_that_read_too_small_come_out_as_such(bend: LoftedPort) -> None:
    true = pi * (RADIUS + 0.05) ** 2 * TURN * BEND
    assert size_of(bend, "width bias", true) == pytest.approx(0.1, rel=2e-2)


def test_a_straight_port_has_no_inside_of_a_bend(tube: Callable[..., LoftedPort]) -> None:
    port = tube(VALVE_IN)
    assert {c.name for c in causes_of(port, port.cast, Accuracy(), 500.0)} == {"distance scale", "width bias"}


def test_the_likeliest_cause_comes_first(bend: LoftedPort) -> None:
    accuracy = Accuracy(distance_mm=0.01, tool_bias_mm=0.5)
    causes = causes_of(bend, bend.cast, accuracy, 1000.0)
    assert causes[0].name == "width bias"
    assert [abs(c.in_standards) for c in causes] == sorted(abs(c.in_standards) for c in causes)


def test_a_cause_beyond_two_standard_deviations_is_not_likely() -> None:
    assert Cause("width bias", 0.1, -1.9).likely
    assert not Cause("width bias", 0.2, 2.1).likely
