"""The chart of passes holds the areas of the surfaces after them, bands laid one on the other."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from portgeom.output.charts.pass_chart import BANDS, draw_passes, pass_chart
from portgeom.output.charts.sheet import Region
from portgeom.output.words.shown import Shown


@pytest.fixture(scope="module")
def chart(drilled, cut):
    return pass_chart(drilled.answers[0], cut(drilled)[0], Shown("mm"))


def test_areas_are_those_of_the_surfaces(chart, drilled, cut):
    answer, cutting = drilled.answers[0], cut(drilled)[0]
    np.testing.assert_array_equal(chart.present, answer.stage.surface.flow_area_mm2)
    np.testing.assert_array_equal(chart.wanted, answer.removal.after.flow_area_mm2)
    for area, result in zip(chart.after, cutting.results, strict=True):
        np.testing.assert_array_equal(area, result.after.flow_area_mm2)


def test_all_passes_together_give_the_area_that_was_wanted(chart):
    # the plain duct of 42 by 50 once the cap is gone
    middle = slice(60, -60)
    np.testing.assert_allclose(chart.after[-1][middle], 42.0 * 50.0, rtol=2e-3)


def test_inches_are_mm_over_25_4(chart, drilled, cut):
    inches = pass_chart(drilled.answers[0], cut(drilled)[0], Shown("in"))
    np.testing.assert_allclose(inches.after * 25.4**2, chart.after, rtol=1e-12)
    np.testing.assert_allclose(inches.distance * 25.4, chart.distance, rtol=1e-12)


def test_legend_names_every_pass_in_order_between_as_it_is_and_wanted(chart, told_on):
    assert told_on(draw_passes(chart))[:5] == ["as it is", "1 grooves", "2 level", "3 blend", "wanted"]


def test_a_band_is_numbered_where_it_is_widest(chart, words_on):
    drawn = draw_passes(chart)
    number = next(w for w in words_on(drawn) if w.text == "2" and w.bold)
    gain = chart.after[1] - chart.after[0]
    x = np.interp(chart.distance[int(np.argmax(gain))], drawn.cursor[:, 0], drawn.cursor[:, 1])
    assert number.at[0] == pytest.approx(x, abs=1e-9)


def test_bands_get_darker_and_never_take_the_same_colour_as_the_next(chart):
    from matplotlib.colors import to_rgb

    light = [sum(to_rgb(c)) for c in BANDS]
    assert light == sorted(light, reverse=True)
    many = replace(chart, after=np.repeat(chart.after[:1], 13, axis=0), names=tuple(f"pass {k}" for k in range(13)))
    # the boxes of the legend have four corners
    colours = [m.fill for m in draw_passes(many).marks if isinstance(m, Region) and len(m.points) > 4]
    assert len(colours) == 13
    assert all(a != b for a, b in pairwise(colours))


def test_a_long_name_is_cut_and_the_legend_stays_in_the_picture(chart, words_on, boxes):
    many = replace(chart, names=("a pass with a name that goes on and on and on", *chart.names[1:]))
    drawn = draw_passes(many)
    rows = [boxes(w) for w in words_on(drawn)[:5]]
    assert max(right for _, right, _, _ in rows) <= drawn.width
    assert max(bottom for *_, bottom in rows) <= drawn.cursor[0, 2]
