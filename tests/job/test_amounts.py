"""Amounts with units become SI.

Sources: NIST Special Publication 811 (2008), appendix B.8: inch of water, conventional, 249.0889 Pa; cubic
foot per minute 4.719474e-4 m3/s; pound 0.45359237 kg; inch of mercury, conventional, 3386.389 Pa.
"""

from __future__ import annotations

import pytest

from portgeom.job.amounts import Amount, Temperature, barometer, flow_rate, in_unit, pressure, speed
from portgeom.job.faults import Gathered, Spot
from portgeom.job.flow_values import Stated


def read(kind: Amount | Temperature, value: object) -> tuple[Stated | None, str]:
    gathered = Gathered()
    amount = kind.read(value, Spot(gathered, "job.toml", 1, "x"), "mm")
    return amount, "".join(f"{f.found}; {f.mend}" for f in gathered.faults)


@pytest.mark.parametrize(
    ("text", "pascal"),
    [("1 inH2O", 249.0889), ("28inH2O", 28 * 249.0889), ("10 mbar", 1000.0), ("6.97 kPa", 6970.0), (".5 hPa", 50.0)],
)
def test_a_pressure_becomes_pascal(text: str, pascal: float) -> None:
    stated, _ = read(pressure(), text)
    assert stated is not None
    assert stated.amount == pytest.approx(pascal, rel=1e-6)
    assert stated.quantity == "pressure"


@pytest.mark.parametrize(
    ("text", "si"),
    [("1 cfm", 4.719474e-4), ("36 m3/h", 0.01), ("100 l/s", 0.1), ("60 l/min", 0.001), ("0.1 m3/s", 0.1)],
)
def test_a_flow_becomes_cubic_metres_a_second(text: str, si: float) -> None:
    stated, _ = read(flow_rate(), text)
    assert stated is not None
    assert stated.amount == pytest.approx(si, rel=1e-6)
    assert stated.quantity == "volume flow"


@pytest.mark.parametrize(
    ("text", "si"), [("3600 kg/h", 1.0), ("0.1 kg/s", 0.1), ("100 g/s", 0.1), ("60 lb/min", 0.45359237)]
)
def test_a_mass_flow_becomes_kilograms_a_second(text: str, si: float) -> None:
    stated, _ = read(flow_rate(), text)
    assert stated is not None
    assert stated.amount == pytest.approx(si, rel=1e-12)
    assert stated.quantity == "mass flow"


@pytest.mark.parametrize(
    ("text", "kelvin"), [("20 C", 293.15), ("68 F", 293.15), ("-4F", 253.15), ("-10 C", 263.15), ("300 K", 300.0)]
)
def test_a_temperature_becomes_kelvin(text: str, kelvin: float) -> None:
    stated, _ = read(Temperature(), text)
    assert stated is not None
    assert stated.amount == pytest.approx(kelvin, rel=1e-12)


def test_a_barometer_may_stand_in_inches_of_mercury() -> None:
    stated, _ = read(barometer(), "29.92 inHg")
    assert stated is not None
    assert stated.amount == pytest.approx(29.92 * 3386.389, rel=1e-6)


@pytest.mark.parametrize(
    ("kind", "text"),
    [(pressure(), "28 inH2O"), (flow_rate(), "225 cfm"), (flow_rate(), "400 kg/h"), (speed(), "350 ft/s")],
)
def test_an_amount_comes_back_in_the_unit_it_was_written_in(kind: Amount, text: str) -> None:
    stated, _ = read(kind, text)
    assert stated is not None
    assert f"{in_unit(stated.amount, stated.unit):.0f} {stated.unit}" == text


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        (pressure(), 28, 'as "28 inH2O"'),
        (pressure(), True, "is not a pressure"),
        (pressure(), "-28 inH2O", "is below 0; give the depression as a positive number, whichever way"),
        (flow_rate(), "-5 cfm", "is below 0; give it without a sign"),
        (barometer(), "28 inH2O", "not a unit of pressure of the air"),
        (barometer(), "10 kPa", "above 30, at most 120 kPa"),
        (Temperature(), 20, 'as "20 C"'),
        (Temperature(), "20", "is not a temperature"),
        (Temperature(), "300 C", "out of range"),
        (speed(), "400 m/s", "at most 340 m/s"),
        (pressure(), "nan kPa", "is not a pressure"),
        (pressure(), "0 kPa", "above 0, at most 101.3 kPa"),
        (pressure(), "200 kPa", "out of range"),
        (pressure(), "28 inh2o", 'nearest known unit is "inH2O"'),
        (pressure(), "225 cfm", '"cfm" is not a unit of pressure'),
        (flow_rate(), "9" * 400 + " cfm", "out of range"),
        (flow_rate(), "225", 'as "225 cfm"'),
    ],
)
def test_what_is_no_such_amount_is_refused(kind: Amount | Temperature, value: object, words: str) -> None:
    amount, told = read(kind, value)
    assert amount is None
    assert words in told
