"""The wall map is laid out by clock and distance, and holds the walls themselves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.job.values import Hazard, WallReading
from portgeom.output.charts.sheet import Painting
from portgeom.output.charts.sheet_svg import svg_of
from portgeom.output.charts.wall_chart import draw_walls, wall_chart
from portgeom.output.words.shown import Shown
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import wall_map, walls

GAP = 4.0
OVER = Hazard("rail face", "plane", point_mm=np.array([0.0, 0.0, 25.0 + GAP]), normal=np.array([0.0, 0.0, 1.0]))


def chart_of(asked, hazards, units="mm", **job):
    answer = asked.answers[0]
    ready = behind(replace(asked.job, hazards=tuple(hazards), **job), answer.port)
    surface = answer.stage.surface
    found = walls(answer.port, surface, "as cast", ready)
    rows = zip(answer.stage.stage.sections.rows, answer.stage.distance_mm, strict=True)
    stations = tuple((r.station, float(s)) for r, s in rows)
    return wall_chart(found, wall_map(surface, ready), answer.port.port, stations, Shown(units))


def at(chart, clock_deg):
    return chart.wall[:, int(np.argmin(np.abs(chart.clock_deg - clock_deg)))]


def test_flat_roof_under_a_face_has_one_wall_and_the_floor_is_far(box):
    chart = chart_of(box, [OVER])
    np.testing.assert_allclose(at(chart, 0.0), GAP, atol=1e-6)
    np.testing.assert_allclose(at(chart, 180.0), 15.0)


def test_side_wall_under_a_face_is_as_far_as_it_lies_lower(box):
    # 40 wide, 50 high: at 50 degrees from the crown the side wall is hit 20 / tan 50 above the middle
    chart = chart_of(box, [OVER])
    np.testing.assert_allclose(at(chart, 50.0), 25.0 + GAP - 20.0 / np.tan(np.radians(50.0)), atol=0.25)


def test_left_wall_is_left_of_the_roof_and_right_wall_right(box):
    left = Hazard("pushrod hole", "plane", point_mm=np.array([-22.0, 0.0, 0.0]), normal=np.array([1.0, 0.0, 0.0]))
    chart = chart_of(box, [left])
    np.testing.assert_allclose(at(chart, -90.0), 2.0, atol=1e-6)
    np.testing.assert_allclose(at(chart, 90.0), 15.0)


def test_inches_are_mm_over_25_4(box):
    mm, inches = chart_of(box, [OVER]), chart_of(box, [OVER], "in")
    np.testing.assert_allclose(inches.wall * 25.4, mm.wall, rtol=1e-12)


def test_thin_is_judged_by_each_hazards_own_limit(box):
    far = replace(OVER, name="far", point_mm=np.array([0.0, 0.0, 25.0 + 9.0]), min_wall_mm=10.0)
    near = replace(OVER, min_wall_mm=1.0)
    # the nearer face is far enough for its own limit, the further one is not for its
    assert at_limit(chart_of(box, [near])) > 0.0
    assert at_limit(chart_of(box, [near, far])) == pytest.approx(9.0 - 10.0, abs=1e-6)


def at_limit(chart):
    return float(chart.over_limit.min())


def test_no_limit_is_never_thin(box):
    assert at_limit(chart_of(box, [OVER])) > 0.0


def test_least_walls_are_marked_where_they_are_in_words(drilled, cut):
    answer, cutting = drilled.answers[0], cut(drilled)[0]
    chart = wall_chart(cutting.finished, cutting.finished_map(), answer.port.port, (), Shown("mm"))
    hole = next(m for m in chart.marks if m.words.startswith("bolt hole"))
    assert hole.words == "bolt hole: 3.0 mm, thin"
    assert hole.distance == pytest.approx(50.0, abs=5.5)
    assert abs(hole.clock_deg) < 15.0


def test_left_wall_is_drawn_above_the_roof_and_the_face_at_the_left(drilled, cut, words_on):
    answer, cutting = drilled.answers[0], cut(drilled)[0]
    chart = wall_chart(cutting.finished, cutting.finished_map(), answer.port.port, (("1", 0.0),), Shown("mm"))
    drawn = draw_walls(chart)
    down = {w.text: w.at[1] for w in words_on(drawn)}
    assert down["left wall, 9"] < down["roof, 12"] < down["right wall, 3"]
    assert drawn.cursor[0, 1] < drawn.cursor[1, 1]
    image = next(m for m in drawn.marks if isinstance(m, Painting))
    # the thin wall over the roof is in the middle of the image
    row, _ = np.unravel_index(int(np.argmin(image.pixels.astype(int).sum(axis=2))), image.pixels.shape[:2])
    assert row == pytest.approx(0.5 * image.pixels.shape[0], abs=0.06 * image.pixels.shape[0])


def test_thin_metal_is_outlined_and_the_bar_says_so(drilled, box, cut, told_on):
    answer, cutting = drilled.answers[0], cut(drilled)[0]
    chart = wall_chart(cutting.finished, cutting.finished_map(), answer.port.port, (("1", 0.0),), Shown("mm"))
    thin, sound = (" ".join(told_on(draw_walls(c))) for c in (chart, chart_of(box, [OVER])))
    assert "dashed: thinner than the limit" in thin
    assert "dashed" not in sound


def test_what_no_reading_tells_is_grey_and_called_not_known(box, told_on):
    gauge = Hazard("gauge", "readings", file="g.csv", readings=(WallReading(50.0, 0.0, 6.0),))
    chart = chart_of(box, [gauge])
    assert np.isnan(chart.wall).any()
    assert np.nanmin(chart.wall) == pytest.approx(6.0, abs=1e-9)
    assert any("grey: not known" in words for words in told_on(draw_walls(chart)))


def test_drawing_is_the_same_each_time(box):
    first, again = (svg_of(draw_walls(chart_of(box, [OVER])), name="a", describe="walls") for _ in range(2))
    assert first == again


def test_words_of_walls_close_by_stay_apart(box, words_on, boxes):
    names = ("first hole", "second hole", "third hole")
    ends = [
        (np.array([x, 40.0 + y, 29.0]), np.array([x, 40.0 + y, 60.0])) for x, y in ((0.0, 0.0), (3.0, 4.0), (-4.0, 8.0))
    ]
    holes = [
        Hazard(n, "cylinder", start_mm=a, end_mm=b, diameter_mm=2.0) for n, (a, b) in zip(names, ends, strict=True)
    ]
    places = [boxes(w) for w in words_on(draw_walls(chart_of(box, holes))) if " hole: " in w.text]
    assert len(places) == 3
    for k, one in enumerate(places):
        for other in places[:k]:
            apart = one[1] < other[0] or other[1] < one[0] or one[3] < other[2] or other[3] < one[2]
            assert apart
