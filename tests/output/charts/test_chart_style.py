"""The colour scale is honest: zero is neutral, and equal heights either way are equally strong."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from portgeom.output.charts.chart_style import STYLE, ProudScale


@pytest.mark.parametrize(("low", "high"), [(-0.3, 6.0), (0.0, 3.1), (-4.0, 0.0), (-2.0, 2.0), (0.0, 0.0)])
def test_zero_is_neutral_however_the_heights_lie(low, high):
    colours, norm = ProudScale.over(low, high, "mm").colours()
    np.testing.assert_allclose(colours(norm(0.0))[:3], to_rgb(STYLE.neutral), atol=0.02)


def test_a_small_overcut_looks_small_beside_a_large_boss():
    colours, norm = ProudScale.over(-0.5, 6.0, "mm").colours()

    def strength(height):
        return float(np.linalg.norm(np.subtract(colours(norm(height))[:3], to_rgb(STYLE.neutral))))

    assert strength(-0.5) < 0.35 * strength(6.0)
    assert strength(-0.5) == pytest.approx(strength(0.5), abs=0.08)


def test_marks_are_whole_steps_with_zero_among_them():
    scale = ProudScale.over(-0.4, 6.03, "mm")
    assert scale.marks == (-1.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0)
    assert ProudScale.over(-0.4, 6.03, "in").marks[0] == -0.05


def test_ends_are_told_in_words():
    assert ProudScale.over(-0.4, 6.0, "mm").low_words == "already past the line"
    assert ProudScale.over(0.0, 6.0, "mm").low_words == "at the line"
    assert ProudScale.over(-0.4, 0.0, "mm").high_words == "at the line"
