"""The area chart draws the profile and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.output.charts.area_chart import area_chart, draw_area
from portgeom.output.charts.chart_style import STYLE
from portgeom.output.charts.sheet import Curve, Spot
from portgeom.output.words.shown import Shown


def curve(drawn, width, dashed):
    """Return the points of the curve so drawn; the legend's own line has but two."""
    found = [m for m in drawn.marks if isinstance(m, Curve) and m.stroke.width == width]
    return next(m.points for m in found if bool(m.stroke.dashes) == dashed and len(m.points) > 2)


def distances(drawn, points):
    """Return the distances that points lie at, by the cursor's own rows."""
    (s0, x0, *_), (s1, x1, *_) = drawn.cursor
    return s0 + (points[:, 0] - x0) * (s1 - s0) / (x1 - x0)


def assert_same_but_for_scale(down, values):
    """Check that places down a drawing are values to one scale, larger ones higher up."""
    slope, start = np.polyfit(values, down, 1)
    assert slope < 0.0
    np.testing.assert_allclose(down, start + slope * np.asarray(values), atol=1e-8)


def test_drawn_curve_is_the_profile_in_mm(boss):
    result = boss.answers[0].profile
    drawn = draw_area(area_chart(result, Shown("mm")))
    points = curve(drawn, STYLE.line_width, dashed=False)
    np.testing.assert_allclose(distances(drawn, points), result.distance_mm, atol=1e-9)
    assert_same_but_for_scale(points[:, 1], result.flow_area_mm2)


def test_drawn_curve_in_inches_is_the_profile_over_25_4_and_its_square(boss):
    result = boss.answers[0].profile
    chart = area_chart(result, Shown("in"))
    np.testing.assert_allclose(chart.distance * 25.4, result.distance_mm, rtol=1e-14)
    np.testing.assert_allclose(chart.area * 25.4**2, result.flow_area_mm2, rtol=1e-14)


def test_curve_after_is_the_flow_area_once_the_metal_is_off(boss):
    answer = boss.answers[0]
    after = answer.removal.after.flow_area_mm2
    drawn = draw_area(area_chart(answer.profile, Shown("mm"), after_mm2=after))
    now, then = curve(drawn, STYLE.line_width, dashed=False), curve(drawn, 2.0, dashed=True)
    assert_same_but_for_scale(
        np.concatenate([now[:, 1], then[:, 1]]), np.concatenate([answer.profile.flow_area_mm2, after])
    )


def test_stations_are_dots_at_their_own_flow_areas(boss):
    result = boss.answers[0].profile
    drawn = draw_area(area_chart(result, Shown("mm")))
    dots = np.array([m.at for m in drawn.marks if isinstance(m, Spot) and m.shape == "dot"])
    line = curve(drawn, STYLE.line_width, dashed=False)
    np.testing.assert_allclose(distances(drawn, dots), [s.distance_mm for s in result.stations], atol=1e-9)
    assert_same_but_for_scale(
        np.concatenate([line[:, 1], dots[:, 1]]),
        np.concatenate([result.flow_area_mm2, [s.flow_area_mm2 for s in result.stations]]),
    )


def test_neck_is_marked_where_it_is_with_its_size_in_words(ask):
    # (1 - 36^2 / 40^2) of the area is missing in the middle station
    s, diameter = [0.0, 40.0, 80.0], [40.0, 36.0, 40.0]
    result = ask(s, [circle(d) for d in diameter]).profile
    (mark,) = area_chart(result, Shown("mm")).marks
    assert mark.distance == pytest.approx(40.0)
    assert mark.area == pytest.approx(np.pi / 4.0 * 36.0**2, rel=1e-3)
    assert mark.words == f"neck {100.0 * (1.0 - 36.0**2 / 40.0**2):.1f} percent"
    assert mark.below


def test_steep_growth_is_marked_only_over_the_limit(ask):
    # a cone of 2 atan(5 / 40) = 14.25 degrees
    result = ask([0.0, 20.0, 40.0], [circle(d) for d in (40.0, 45.0, 50.0)]).profile
    steep = area_chart(result, Shown("mm"), cone_limit_deg=10.0).marks
    assert [m.words for m in steep] == ["grows like a cone\nof 14 degrees"]
    assert area_chart(result, Shown("mm"), cone_limit_deg=20.0).marks == ()


def test_headline_tells_the_steepest_growth_in_words(ask):
    # radius grows by 2.5 mm over 20 mm
    angle = 2.0 * np.degrees(np.arctan(2.5 / 20.0))
    result = ask([0.0, 20.0, 40.0], [circle(d) for d in (40.0, 45.0, 50.0)]).profile
    told = area_chart(result, Shown("mm")).headline
    assert told.startswith(f"As it is: not smooth; steepest growth like a cone of {angle:.1f} degrees, at ")


def test_headline_of_a_duct_that_never_grows_names_no_angle(plain):
    assert area_chart(plain.answers[0].profile, Shown("mm")).headline == "As it is: smooth; it grows nowhere"
