"""Amounts with units become SI.

Sources: NIST Special Publication 811 (2008), appendix B.8: inch of water, conventional, 249.0889 Pa; cubic
foot per minute 4.719474e-4 m3/s.
"""

from __future__ import annotations

import pytest

from portgeom.job.amounts import Amount, pressure, volume_flow
from portgeom.job.faults import Gathered, Spot


def read(kind: Amount, value: object) -> tuple[float | None, str]:
    gathered = Gathered()
    amount = kind.read(value, Spot(gathered, "job.toml", 1, "x"), "mm")
    return amount, "".join(f"{f.found}; {f.mend}" for f in gathered.faults)


@pytest.mark.parametrize(
    ("text", "pascal"),
    [("1 inH2O", 249.0889), ("28inH2O", 28 * 249.0889), ("10 mbar", 1000.0), ("6.97 kPa", 6970.0), (".5 hPa", 50.0)],
)
def test_a_pressure_becomes_pascal(text: str, pascal: float) -> None:
    assert read(pressure(), text)[0] == pytest.approx(pascal, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "si"),
    [("1 cfm", 4.719474e-4), ("36 m3/h", 0.01), ("100 l/s", 0.1), ("60 l/min", 0.001), ("0.1 m3/s", 0.1)],
)
def test_a_flow_becomes_cubic_metres_a_second(text: str, si: float) -> None:
    assert read(volume_flow(), text)[0] == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        (pressure(), 28, 'as "28 inH2O"'),
        (pressure(), True, "is not a pressure"),
        (pressure(), "-28 inH2O", "is not a pressure"),
        (pressure(), "nan kPa", "is not a pressure"),
        (pressure(), "0 kPa", "above 0, at most 101.3 kPa"),
        (pressure(), "200 kPa", "out of range"),
        (pressure(), "28 inh2o", 'nearest known unit is "inH2O"'),
        (pressure(), "225 cfm", '"cfm" is not a unit of pressure'),
        (volume_flow(), "400 kg/h", "needs the density of the air"),
        (volume_flow(), "9" * 400 + " cfm", "out of range"),
        (volume_flow(), "225", 'as "225 cfm"'),
    ],
)
def test_what_is_no_such_amount_is_refused(kind: Amount, value: object, words: str) -> None:
    amount, told = read(kind, value)
    assert amount is None
    assert words in told
