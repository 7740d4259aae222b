"""One inch is 25.4 mm by definition."""

from __future__ import annotations

import pytest

from portgeom.geometry.told_lengths import mm, mm2
from portgeom.job.units import area_from_mm2, area_to_mm2, area_word, length_from_mm, length_to_mm, told
from portgeom.job.values import Units


def test_an_inch_is_25_4_mm_exactly() -> None:
    assert length_to_mm(1.0, "in") == 25.4
    assert area_to_mm2(1.0, "in") == pytest.approx(25.4**2, rel=1e-15)


def test_a_millimetre_stays_itself() -> None:
    assert length_to_mm(12.5, "mm") == 12.5
    assert area_to_mm2(12.5, "mm") == 12.5


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("value", [0.0, 0.003, 4.25, 1e4])
def test_there_and_back_is_the_same(value: float, units: Units) -> None:
    assert length_from_mm(length_to_mm(value, units), units) == pytest.approx(value, rel=1e-15)
    assert area_from_mm2(area_to_mm2(value, units), units) == pytest.approx(value, rel=1e-15)


def test_areas_are_named_after_their_lengths() -> None:
    assert (area_word("mm"), area_word("in")) == ("mm2", "in2")


def test_a_message_tells_its_lengths_in_the_units_asked_for() -> None:
    message = f"is at {mm(50.8)}, {mm(-25.4, None)} off, and hides {mm2(645.16)}"
    assert told(message, "mm") == "is at 50.8 mm, -25.4 mm off, and hides 645.2 mm2"
    assert told(message, "in") == "is at 2.000 in, -1.000 in off, and hides 1.0001 in2"


def test_a_length_in_a_persons_own_words_is_left_as_it_is() -> None:
    assert told('no cutter "ball 10 mm"', "in") == 'no cutter "ball 10 mm"'
