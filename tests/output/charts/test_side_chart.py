"""The side view shows the head frame at one scale both ways."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.charts.chart_style import STYLE
from portgeom.output.charts.sheet import Curve, Spot
from portgeom.output.charts.side_chart import CONVENTION, draw_side, side_chart
from portgeom.output.words.shown import Shown


def test_roof_and_floor_lie_where_the_section_says(plain):
    chart = side_chart(plain.answers[0], Shown("mm"))
    np.testing.assert_allclose(chart.roof[:, 1], 25.0)
    np.testing.assert_allclose(chart.floor[:, 1], -25.0)
    np.testing.assert_allclose(chart.roof[:, 0], plain.answers[0].port.chart.distance_mm, atol=1e-9)


def test_a_turn_down_to_the_deck_is_drawn_down(bend):
    chart = side_chart(bend.answers[0], Shown("mm"))
    # a quarter circle of 80 mm ends 80 in and 80 down
    np.testing.assert_allclose(chart.path[-1], [80.0, -80.0], atol=1e-9)


def curve(drawn, width):
    """Return the points of the first curve so wide; the legend's own line has but two."""
    return next(m.points for m in drawn.marks if isinstance(m, Curve) and m.stroke.width == width and len(m.points) > 2)


def test_both_axes_have_one_scale_with_the_face_at_the_left_and_up_at_the_top(bend):
    chart = side_chart(bend.answers[0], Shown("mm"))
    path = curve(draw_side(chart), 0.9)
    per = [np.polyfit(chart.path[:, k], path[:, k], 1) for k in (0, 1)]
    assert per[0][0] > 0.0
    assert per[0][0] == pytest.approx(-per[1][0], rel=1e-9)
    assert "face at the left" in CONVENTION


def test_cursor_runs_from_floor_to_roof_at_every_distance(bend):
    chart = side_chart(bend.answers[0], Shown("mm"))
    drawn = draw_side(chart)
    roof = curve(drawn, STYLE.line_width)
    for distance, *ends in drawn.cursor:
        row = int(np.argmin(np.abs(chart.distance - distance)))
        floor_end, roof_end = np.array(ends).reshape(2, 2)
        along = (roof_end - floor_end) / np.linalg.norm(roof_end - floor_end)
        # the roof's own point lies on the cursor's line
        gap = roof[row] - floor_end
        assert abs(along[0] * gap[1] - along[1] * gap[0]) < 1e-9
        assert 0.0 < gap @ along < np.linalg.norm(roof_end - floor_end)
    assert drawn.cursor[[0, -1], 0].tolist() == chart.distance[[0, -1]].tolist()


def test_boss_is_cut_through_its_peak(boss):
    answer = boss.answers[0]
    hanging = side_chart(answer, Shown("mm")).hanging
    drop = hanging.wanted[:, 1] - hanging.roof[:, 1]
    assert drop.max() == pytest.approx(answer.roof.bulges[0].peak.proud_mm, abs=1e-9)
    assert hanging.roof[int(np.argmax(drop)), 0] == pytest.approx(50.0, abs=0.5)


def test_no_bulge_draws_no_cut(plain):
    assert side_chart(plain.answers[0], Shown("mm")).hanging is None


def test_metal_and_overcut_are_told_apart_in_words(boss, past, told_on):
    assert "metal to take off" in told_on(draw_side(side_chart(boss.answers[0], Shown("mm"))))
    over = told_on(draw_side(side_chart(past.answers[0], Shown("mm"))))
    assert "already past the line" in over
    assert "metal to take off" not in over


def test_guessed_line_says_so(plain, told_on):
    assert "roof line wanted (a guess by bridging)" in told_on(draw_side(side_chart(plain.answers[0], Shown("mm"))))


def test_words_at_the_roofs_end_cover_no_line_of_the_roof(boss, bend, words_on):
    for asked in (boss, bend):
        drawn = draw_side(side_chart(asked.answers[0], Shown("mm")))
        words = next(w for w in words_on(drawn) if w.text == "roof ends")
        end = next(m for m in drawn.marks if isinstance(m, Spot) and m.shape == "tick")
        assert np.hypot(*(words.at - end.at)) < 60.0
        chart = side_chart(asked.answers[0], Shown("mm"))
        thick = [m for m in drawn.marks if isinstance(m, Curve) and m.stroke.width >= STYLE.line_width]
        assert len(thick) >= 3
        roofs = [m.points for m in thick if len(m.points) == len(chart.roof)]
        assert not any(words.covers(points) for points in roofs)
