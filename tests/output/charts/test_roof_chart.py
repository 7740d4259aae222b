"""The roof map is seen from above with the face at the left, so the left wall is at the top."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.job.values import Port
from portgeom.output.charts.roof_chart import draw_roof, roof_chart
from portgeom.output.charts.sheet import Curve, Painting, Words
from portgeom.output.charts.sheet_svg import svg_of
from portgeom.output.words.shown import Shown

PORT = Port("1", "intake", (), left_wall="pushrod wall", right_wall="common wall")


def chart_of(asked, units="mm"):
    answer = asked.answers[0]
    rows = zip(answer.stage.stage.sections.rows, answer.stage.distance_mm, strict=True)
    return roof_chart(
        answer.roof, PORT, tuple((r.station, float(s)) for r, s in rows), Shown(units), bulge_limit_mm=0.5
    )


def test_map_is_the_roof_map_itself(boss):
    np.testing.assert_array_equal(chart_of(boss).proud, boss.answers[0].roof.map.proud_mm)


def test_inches_are_mm_over_25_4(boss):
    np.testing.assert_allclose(chart_of(boss, "in").proud * 25.4, boss.answers[0].roof.map.proud_mm, rtol=1e-14)


def test_left_wall_is_at_the_top(boss, words_on):
    down = {w.text: w.at[1] for w in words_on(draw_roof(chart_of(boss)))}
    assert down["pushrod wall (left looking in)"] < down["common wall (right looking in)"]


def test_painted_grid_holds_the_peak_in_its_place(boss):
    chart = chart_of(boss)
    drawn = draw_roof(chart)
    image = next(m for m in drawn.marks if isinstance(m, Painting))
    rows, columns, _ = image.pixels.shape
    darkest = image.pixels.astype(int).sum(axis=2)
    row, column = (float(np.mean(k)) for k in np.nonzero(darkest == darkest.min()))
    at = image.low + (image.high - image.low) * ((column + 0.5) / columns, (row + 0.5) / rows)
    peak = boss.answers[0].roof.peak
    assert np.interp(at[0], drawn.cursor[:, 1], drawn.cursor[:, 0]) == pytest.approx(peak.distance_mm, abs=0.5)
    # one scale both ways: the image's corners are its first and last columns across
    across = np.interp(at[1], [image.low[1], image.high[1]], [chart.across[0], chart.across[-1]])
    assert across == pytest.approx(peak.across_mm, abs=0.5)
    assert darkest.min() == chart.scale.ramp.banded(np.array([peak.proud_mm])).astype(int).sum()


def test_one_millimetre_is_as_long_across_as_along(boss):
    chart = chart_of(boss)
    drawn = draw_roof(chart)
    image = next(m for m in drawn.marks if isinstance(m, Painting))
    (s0, x0, *_), (s1, x1, *_) = drawn.cursor
    across = chart.across[-1] - chart.across[0]
    step = across / (image.pixels.shape[0] - 1)
    assert (image.high[1] - image.low[1]) / (across + step) == pytest.approx((x1 - x0) / (s1 - s0), rel=1e-9)


def test_bulges_are_numbered_and_sized_in_words(boss, told_on):
    bulge = boss.answers[0].roof.bulges[0]
    told = [t for t in told_on(draw_roof(chart_of(boss))) if t.startswith("bulge 1")]
    assert told == [f"bulge 1: stands out {bulge.stands_out_mm:.1f} mm, {bulge.volume_mm3 / 1000.0:.1f} cc"]


def test_colour_bar_tells_signs_in_words(boss, past, told_on):
    up, down = told_on(draw_roof(chart_of(boss))), told_on(draw_roof(chart_of(past)))
    assert up[-2:] == ["at the line", "above the line: metal to take off"]
    assert down[-2:] == ["already past the line", "at the line"]


def test_roof_that_ends_early_shows_no_station_beyond(pair):
    answer = pair.answers[1]
    rows = zip(answer.stage.stage.sections.rows, answer.stage.distance_mm, strict=True)
    stations = tuple((r.station, float(s)) for r, s in rows)
    chart = roof_chart(answer.roof, answer.port.port, stations, Shown("mm"), bulge_limit_mm=0.5)
    assert chart.stations.max() <= answer.roof.end_mm
    assert len(chart.stations) < len(stations)


def line_names(chart):
    """Return the values written on lines of equal height: on a ground of their own, as the bulge's words are not."""
    return [w for w in draw_roof(chart).marks if isinstance(w, Words) and w.ground is not None]


def test_a_level_roof_is_crossed_by_no_line_that_follows_its_last_digits(boss):
    chart = chart_of(boss)
    mark = next(m for m in chart.scale.marks if m > 0.0)
    # level at a mark, as a roof that is even all along, but for its first fifth
    # that is highest between two marks, so that noise leaves the scale as it is
    high = chart.scale.marks[-1] - 1.5 * chart.scale.step
    level = mark + np.where(chart.distance < 0.2 * chart.distance.max(), high, 0.0)[:, None]
    noise = 1e-9 * np.sin(np.arange(chart.proud.shape[1]))[None, :]

    def lines(proud):
        drawn = draw_roof(replace(chart, proud=proud, patches=()))
        return sum(isinstance(m, Curve) for m in drawn.marks)

    plain, shaken = (replace(chart, proud=p) for p in (level + 0.0 * noise, level + noise))
    assert shaken.scale.marks == plain.scale.marks
    assert mark in shaken.scale.marks
    assert lines(shaken.proud) == lines(plain.proud)


def test_values_of_lines_that_crowd_at_a_step_are_not_written_over_each_other(boss):
    chart = chart_of(boss)
    step = np.where(chart.distance[:, None] < chart.distance.mean(), 0.0, chart.scale.marks[-1])
    names = line_names(replace(chart, proud=step + 0.0 * chart.proud, patches=()))
    assert names
    assert all(np.abs(a.at - b.at).max() > 14.0 for k, a in enumerate(names) for b in names[:k])


def test_drawing_is_the_same_each_time(boss):
    first, again = (svg_of(draw_roof(chart_of(boss)), name="a", describe="map") for _ in range(2))
    assert first == again


def test_no_number_of_a_line_is_under_the_name_of_a_bulge(boss, words_on):
    words = words_on(draw_roof(chart_of(boss)))
    bulges = [w for w in words if w.text.startswith("bulge")]
    levels = [w for w in words if w.ground is not None and not w.text.startswith("bulge")]
    assert bulges
    assert levels
    assert not any(level.meets(bulge) for level in levels for bulge in bulges)
