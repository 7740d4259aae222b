"""What would come off to match, and how two areas differ, in words."""

from __future__ import annotations

import pytest

from portgeom.output.words.compare_doc import area_words, hundredths_cc
from portgeom.output.words.shown import Shown
from portgeom.questions.uncertainty.interval import Difference, Interval


@pytest.mark.parametrize(("volume_mm3", "told"), [(-1.2, "0.00"), (0.0, "0.00"), (2345.6, "2.35"), (-7.0, "-0.01")])
def test_nothing_to_come_off_has_no_sign(volume_mm3: float, told: str) -> None:
    assert hundredths_cc(volume_mm3) == told


@pytest.mark.parametrize(
    ("value", "low", "high", "told"),
    [
        (-12.0, -40.0, 16.0, "12 mm2 smaller (95 percent: 40 mm2 smaller to 16 mm2 larger); may be the readings"),
        (-0.3, -40.0, 39.0, "as large (95 percent: 40 mm2 smaller to 39 mm2 larger); may be the readings"),
        (20.0, 0.4, 40.0, "20 mm2 larger (95 percent: 0 mm2 to 40 mm2 larger); may be the readings"),
    ],
)
def test_no_difference_is_neither_larger_nor_smaller(value: float, low: float, high: float, told: str) -> None:
    assert area_words(Difference(value, 20.0, Interval(low, high, "symmetric"), False), Shown("mm")) == told
