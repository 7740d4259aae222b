"""What a job says of bench readings, air and engine arrives in SI, with the units it was written in."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from portgeom.job.flow_values import AirGiven

if TYPE_CHECKING:
    from conftest import JobFolder

LONG = """\
lift = 10.0
rate = "225 cfm"
leak = "2 cfm"
bench = "water manometer"
date = 2026-03-14
entry_radius = 12.0
exhaust_pipe = "none"
air = { temperature = "68 F", pressure = "29.92 inHg", humidity = 40 }
"""


def test_a_reading_carries_bench_day_leak_entry_radius_pipe_and_air(folder: JobFolder) -> None:
    folder.swap("job.toml", 'lift = 10.0\nrate = "225 cfm"\n', LONG)
    (reading,) = folder.read().flow
    assert (reading.bench, reading.date, reading.exhaust_pipe) == ("water manometer", "2026-03-14", "none")
    assert (reading.lift_mm, reading.entry_radius_mm, reading.number) == (10.0, 12.0, 1)
    assert reading.leak is not None
    assert reading.rate.amount / reading.leak.amount == pytest.approx(112.5)
    assert (reading.rate.unit, reading.depression.unit) == ("cfm", "inH2O")
    assert reading.air is not None
    assert reading.air.temperature_k == pytest.approx(293.15)
    assert reading.air.humidity == pytest.approx(0.4)
    assert reading.row == folder.texts["job.toml"].splitlines().index('rate = "225 cfm"') + 1


def test_many_readings_stand_in_one_table(folder: JobFolder) -> None:
    rows = 'readings = [[2.0, "60 cfm"], [4.0, "118 cfm"], [10.0, "400 kg/h"]]\n'
    folder.swap("job.toml", 'lift = 10.0\nrate = "225 cfm"\n', rows)
    readings = folder.read().flow
    assert [r.lift_mm for r in readings] == [2.0, 4.0, 10.0]
    assert [r.rate.quantity for r in readings] == ["volume flow", "volume flow", "mass flow"]
    assert {(r.port, r.stage, r.depression.unit) for r in readings} == {("1", "as cast", "inH2O")}


@pytest.mark.parametrize(
    ("row", "field", "words"),
    [
        ("[2.0]", "readings row 1", 'give [lift, "rate"]'),
        ('[-2.0, "60 cfm"]', "readings row 1 lift", "out of range"),
        ('[2.0, "60"]', "readings row 1 rate", 'as "225 cfm"'),
    ],
)
def test_a_row_that_is_no_reading_is_told(folder: JobFolder, row: str, field: str, words: str) -> None:
    folder.swap("job.toml", 'lift = 10.0\nrate = "225 cfm"\n', f"readings = [{row}]\n")
    (fault,) = folder.faults()
    assert fault.field == f"flow number 1: {field}"
    assert words in f"{fault.found}; {fault.mend}"


def test_lengths_of_valve_engine_and_readings_are_in_the_units_of_the_job(folder: JobFolder) -> None:
    engine = '[engine]\nbore = 100.0\nstroke = 80.0\nrpm = 6000\nspeed_limit = "350 ft/s"\n\n[accuracy]'
    folder.swap("job.toml", "[accuracy]", engine)
    folder.swap("job.toml", "seat_width = 1.5", 'seat_width = 1.5\nseat_width_along = "slope"\nlifts = [4.0, 2.0]')
    job = folder.read()
    assert job.engine is not None
    assert (job.engine.bore_mm, job.engine.stroke_mm, job.engine.intake_valves) == (100.0, 80.0, 1)
    assert job.engine.volumetric_efficiency is None
    assert job.engine.speed_limit is not None
    assert job.engine.speed_limit.amount == pytest.approx(350 * 0.3048)
    assert job.valves[0].lifts_mm == (2.0, 4.0)
    assert job.valves[0].seat_width_mm == pytest.approx(1.5 * math.cos(math.radians(45.0)))


def test_the_air_of_the_job_may_say_little(folder: JobFolder) -> None:
    folder.swap("job.toml", "[accuracy]", '[air]\npressure = "980 mbar"\n\n[accuracy]')
    assert folder.read().air == AirGiven(None, 98_000.0, None)
