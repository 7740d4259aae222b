"""The side view shows the head frame at one scale both ways."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.charts.figures import look
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


def test_both_axes_have_one_scale(bend):
    with look():
        axes = draw_side(side_chart(bend.answers[0], Shown("mm"))).axes[0]
    box = axes.get_window_extent()
    per = [extent / np.ptp(limits) for extent, limits in ((box.width, axes.get_xlim()), (box.height, axes.get_ylim()))]
    assert per[0] == pytest.approx(per[1], rel=1e-6)


def test_manifold_face_is_at_the_left(bend):
    with look():
        axes = draw_side(side_chart(bend.answers[0], Shown("mm"))).axes[0]
    low, high = axes.get_xlim()
    assert low < 0.0 < high
    assert "face at the left" in CONVENTION


def test_boss_is_cut_through_its_peak(boss):
    answer = boss.answers[0]
    hanging = side_chart(answer, Shown("mm")).hanging
    drop = hanging.wanted[:, 1] - hanging.roof[:, 1]
    assert drop.max() == pytest.approx(answer.roof.bulges[0].peak.proud_mm, abs=1e-9)
    assert hanging.roof[int(np.argmax(drop)), 0] == pytest.approx(50.0, abs=0.5)


def test_no_bulge_draws_no_cut(plain):
    assert side_chart(plain.answers[0], Shown("mm")).hanging is None


def labels(figure):
    return figure.axes[0].get_legend_handles_labels()[1]


def test_metal_and_overcut_are_told_apart_in_words(boss, past):
    with look():
        assert "metal to take off" in labels(draw_side(side_chart(boss.answers[0], Shown("mm"))))
        over = labels(draw_side(side_chart(past.answers[0], Shown("mm"))))
    assert "already past the line" in over
    assert "metal to take off" not in over


def test_guessed_line_says_so(plain):
    with look():
        assert "roof line wanted (a guess by bridging)" in labels(draw_side(side_chart(plain.answers[0], Shown("mm"))))
