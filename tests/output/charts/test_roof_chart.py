"""The roof map is seen from above with the face at the left, so the left wall is at the top."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.job.values import Port
from portgeom.output.charts.figures import look, svg_text
from portgeom.output.charts.roof_chart import draw_roof, roof_chart
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


def test_left_wall_is_at_the_top(boss):
    with look():
        axes = draw_roof(chart_of(boss)).axes[0]
    bottom, top = axes.get_ylim()
    assert top < 0.0 < bottom
    words = {t.get_text(): t.get_position()[1] for t in axes.texts}
    assert words["pushrod wall (left looking in)"] > words["common wall (right looking in)"]


def test_painted_grid_holds_the_peak_in_its_place(boss):
    with look():
        axes = draw_roof(chart_of(boss)).axes[0]
    (image,) = axes.images
    grid = np.asarray(image.get_array())
    left, right, bottom, top = image.get_extent()
    row, column = np.unravel_index(int(np.argmax(grid)), grid.shape)
    peak = boss.answers[0].roof.peak
    assert left + (column + 0.5) * (right - left) / grid.shape[1] == pytest.approx(peak.distance_mm, abs=0.5)
    # the first row of an image is at its top
    assert top + (row + 0.5) * (bottom - top) / grid.shape[0] == pytest.approx(peak.across_mm, abs=0.5)
    assert grid.max() == pytest.approx(peak.proud_mm, rel=0.02)


def test_bulges_are_numbered_and_sized_in_words(boss):
    with look():
        figure = draw_roof(chart_of(boss))
    bulge = boss.answers[0].roof.bulges[0]
    told = [t.get_text() for t in figure.axes[0].texts if t.get_text().startswith("bulge 1")]
    assert told == [f"bulge 1: stands out {bulge.stands_out_mm:.1f} mm, {bulge.volume_mm3 / 1000.0:.1f} cc"]


def test_colour_bar_tells_signs_in_words(boss, past):
    with look():
        up = [t.get_text() for t in draw_roof(chart_of(boss)).texts]
        down = [t.get_text() for t in draw_roof(chart_of(past)).texts]
    assert up == ["at the line", "above the line: metal to take off"]
    assert down == ["already past the line", "at the line"]


def test_roof_that_ends_early_shows_no_station_beyond(pair):
    answer = pair.answers[1]
    rows = zip(answer.stage.stage.sections.rows, answer.stage.distance_mm, strict=True)
    stations = tuple((r.station, float(s)) for r, s in rows)
    chart = roof_chart(answer.roof, answer.port.port, stations, Shown("mm"), bulge_limit_mm=0.5)
    assert chart.stations.max() <= answer.roof.end_mm
    assert len(chart.stations) < len(stations)


def test_drawing_is_the_same_each_time(boss):
    with look():
        first, again = (svg_text(draw_roof(chart_of(boss)), name="a", describe="map") for _ in range(2))
    assert first == again
