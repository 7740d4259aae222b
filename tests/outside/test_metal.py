"""Mass of metal from its published density, in metric and in inches."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Line, Target
from portgeom.questions.whole import Answers

INCH = 25.4
POUND = 453.59237
SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("density", "pounds_per_cubic_inch"),
    # Aluminium 356.0, Aluminum Association data sheet: 2.68 g/cm3 = 0.0968 lb/in3. Grey iron, a note on ASTM A48
    # class 50: 7.15 g/cm3 = 0.258 lb/in3 (sources differ by 5 percent: density is the user's to give).
    [(2.68, 0.0968), (7.15, 0.258)],
)
def test_the_metal_of_one_cubic_inch_weighs_what_the_data_sheet_says(
    ask: Callable[..., Answers], line: Callable[..., Line], density: float, pounds_per_cubic_inch: float
) -> None:
    # a roof one inch wide, raised by half an inch over two inches
    s = np.linspace(0.0, 2.0 * INCH, 5)
    raise_ = Target("raise", roof_kind="roof_raise", roof=line((0.0, 0.5 * INCH), (2.0 * INCH, 0.5 * INCH)))
    section = rectangle(INCH, 1.5 * INCH, SHARP)
    metal = ask(s, [section] * 5, target=raise_, density_g_cc=density).removal
    assert metal.volume_mm3 == pytest.approx(INCH**3, rel=1e-9)
    assert metal.mass_g / POUND == pytest.approx(pounds_per_cubic_inch, abs=5e-4)
