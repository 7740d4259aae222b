"""Numbers beside a colour bar never run into each other, and those told are round."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from portgeom.output.charts.chart_style import STYLE, Ramp
from portgeom.output.charts.frame import colour_bar
from portgeom.output.charts.sheet import Curve, Words


@pytest.mark.parametrize("wide", [90.0, 120.0, 260.0, 600.0])
@pytest.mark.parametrize(("step", "low", "high"), [(0.01, -6, 6), (0.1, 0, 4), (1.0, 0, 7), (0.5, -3, 1), (5.0, 0, 3)])
def test_numbers_under_a_colour_bar_have_room_and_every_mark_its_stroke(
    wide: float, step: float, low: int, high: int, boxes: Callable[[Words], tuple[float, float, float, float]]
) -> None:
    values = [round(k * step, 10) for k in range(low, high + 1)]
    ramp = Ramp(((values[0], "#000000"), (values[-1], "#ffffff")))
    drawn = colour_bar(0.0, 0.0, wide, ramp, values, "", ("", ""))
    numbers = [m for m in drawn if isinstance(m, Words) and m.text]
    assert all(boxes(a)[1] < boxes(b)[0] for a, b in pairwise(numbers))
    assert "0" in [n.text for n in numbers]
    assert {float(n.text) for n in numbers} <= set(values)
    assert len(np.unique(np.diff([float(n.text) for n in numbers]).round(9))) <= 1  # evenly spaced
    strokes = [m for m in drawn if isinstance(m, Curve) and len(m.points) == 2]
    assert len(strokes) == len(values)
    if wide == 600.0:  # where there is room, all of them
        assert len(numbers) == len(values)
    assert all(n.size == STYLE.small_size for n in numbers)
