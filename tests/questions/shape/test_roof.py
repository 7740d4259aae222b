"""The roof map, its peak and its bulges: dents and caps of known height, place and volume."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.job.values import Limits, Line, SectionTable, Target
from portgeom.questions.shape.bulges import find_bulges
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
Lines: TypeAlias = Callable[..., Line]
Tables: TypeAlias = Callable[..., SectionTable]
FAR_WALLS = [(-21.0, 20.0), (-21.0, -25.0), (21.0, -25.0), (21.0, 20.0)]
ACROSS = np.linspace(20.999, -20.999, 301)


def section_with(hangs: F64, flat: float = 25.0) -> Outline:
    """Return a box with a roof that hangs by ``hangs`` (301,) from ``flat``, right to left."""
    return Outline.polygon(np.concatenate([np.column_stack([ACROSS, flat - hangs]), FAR_WALLS]))


def cap(x: float, middle: float, across: float, base: float, height: float) -> F64:
    """Return how far a spherical cap of a base radius and height hangs at x."""
    ball = (base**2 + height**2) / (2.0 * height)
    inside = ball**2 - (x - middle) ** 2 - (ACROSS - across) ** 2
    return np.maximum(0.0, np.sqrt(np.maximum(0.0, inside)) - (ball - height))


def cap_volume(base: float, height: float) -> float:
    return pi * height * (3.0 * base**2 + height**2) / 6.0


def stands_on(base: float, height: float, limit: float) -> float:
    """Return the base radius of the part of a cap that stands out by more than a limit."""
    ball = (base**2 + height**2) / (2.0 * height)
    return sqrt(ball**2 - (ball - height + limit) ** 2)


def test_a_dent_5_mm_deep_and_25_mm_long_reads_5_0(ask: Ask) -> None:
    s = np.arange(0.0, 101.0, 2.5)
    depth = 5.0 * np.maximum(0.0, 1.0 - ((s - 50.0) / 12.5) ** 2)
    outlines = [rectangle(42.0, 50.0 - d, CornerRadii(9.5, 9.5, 6.0, 6.0)).moved(0.0, -0.5 * d) for d in depth]
    result = ask(s, outlines).roof
    (bulge,) = result.bulges
    assert bulge.stands_out_mm == pytest.approx(5.0, abs=0.05)
    assert bulge.peak.distance_mm == pytest.approx(50.0, abs=0.5)
    assert bulge.peak.proud_mm == pytest.approx(bulge.stands_out_mm, abs=0.01)  # the bridge is the line
    assert result.line_from == "bridge"
    assert result.line_wanted == ()


@pytest.mark.parametrize(("middle", "across"), [(50.0, 0.0), (47.0, 4.0), (51.3, -3.0)])
@pytest.mark.parametrize(("base", "height"), [(12.0, 6.0), (14.0, 3.0)])
def test_a_spherical_cap_read_at_2_mm_stations_has_its_height_and_volume(
    ask: Ask, line: Lines, middle: float, across: float, base: float, height: float
) -> None:
    s = np.arange(0.0, 101.0, 2.0)
    outlines = [section_with(cap(x, middle, across, base, height)) for x in s]
    answers = ask(s, outlines, target=Target("flat", roof=line((0.0, 25.0), (100.0, 25.0))))
    (bulge,) = answers.roof.bulges
    assert bulge.stands_out_mm == pytest.approx(height, abs=0.06)
    assert bulge.peak.proud_mm == pytest.approx(height, abs=0.06)
    assert bulge.peak.distance_mm == pytest.approx(middle, abs=1.0)
    assert bulge.peak.across_mm == pytest.approx(across, abs=0.5)
    assert answers.removal.volume_mm3 == pytest.approx(cap_volume(base, height), rel=0.02)
    # the patch is what stands out by more than half a millimetre: the cap less its rim
    edge = stands_on(base, height, 0.5)
    assert bulge.volume_mm3 < cap_volume(base, height)
    assert bulge.volume_mm3 == pytest.approx(cap_volume(edge, height - 0.5) + pi * edge**2 * 0.5, rel=0.02)
    assert bulge.area_mm2 == pytest.approx(pi * edge**2, rel=0.04)
    assert (bulge.from_mm, bulge.to_mm) == pytest.approx((middle - edge, middle + edge), abs=0.75)
    assert (bulge.across_from_mm, bulge.across_to_mm) == pytest.approx((across - edge, across + edge), abs=0.75)
    assert not bulge.thinly_measured


def test_a_boss_in_the_crown_makes_one_bulge_and_no_false_neck(ask: Ask) -> None:
    # a port that narrows evenly by 10 percent, whose boss takes 3 percent of it away and is levelled by the target
    s = np.arange(0.0, 121.0, 3.0)
    outlines = []
    for x in s:
        boss = section_with(cap(x, 60.0, 3.0, 13.0, 6.0)).points_mm
        outlines.append(Outline.polygon(boss * (1.0 - 0.1 * x / 120.0, 1.0)))
    answers = ask(s, outlines)
    (bulge,) = answers.roof.bulges
    assert bulge.peak.distance_mm == pytest.approx(60.0, abs=1.5)
    cast_necks = [n for n in answers.profile.taper.necks if n.percent > 0.2]
    assert len(cast_necks) == 1  # the boss's own
    assert cast_necks[0].distance_mm == pytest.approx(60.0, abs=4.0)


def test_two_bosses_are_two_bulges_ranked_by_volume(ask: Ask, line: Lines) -> None:
    s = np.arange(0.0, 121.0, 2.0)
    outlines = [section_with(cap(x, 30.0, -5.0, 8.0, 4.0) + cap(x, 90.0, 4.0, 13.0, 3.5)) for x in s]
    result = ask(s, outlines, target=Target("flat", roof=line((0.0, 25.0), (120.0, 25.0)))).roof
    first, second = result.bulges
    assert first.volume_mm3 > second.volume_mm3
    assert (first.peak.distance_mm, second.peak.distance_mm) == pytest.approx((90.0, 30.0), abs=1.0)
    assert (first.stands_out_mm, second.stands_out_mm) == pytest.approx((3.5, 4.0), abs=0.06)
    assert result.peak.proud_mm == pytest.approx(4.0, abs=0.06)


def test_raising_the_whole_roof_makes_no_bulge_of_it(ask: Ask, line: Lines) -> None:
    box = rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0))
    result = ask(np.linspace(0, 100, 11), [box] * 11, target=Target("up", roof=line((0.0, 31.0), (100.0, 31.0)))).roof
    assert result.bulges == ()
    assert result.peak.proud_mm == pytest.approx(6.0)


def test_a_bulge_tells_both_its_height_over_the_bridge_and_over_the_line(ask: Ask, line: Lines) -> None:
    s = np.arange(0.0, 101.0, 2.0)
    outlines = [section_with(cap(x, 50.0, 0.0, 12.0, 5.0)) for x in s]
    (bulge,) = ask(s, outlines, target=Target("up", roof=line((0.0, 27.0), (100.0, 27.0)))).roof.bulges
    assert bulge.stands_out_mm == pytest.approx(5.0, abs=0.06)
    assert bulge.peak.proud_mm == pytest.approx(7.0, abs=0.06)


@pytest.mark.parametrize(("step", "thin"), [(2.0, False), (8.0, True)])
def test_a_bulge_met_by_fewer_than_four_stations_is_told_so(ask: Ask, step: float, thin: bool) -> None:
    s = np.arange(0.0, 97.0, step)
    outlines = [section_with(cap(x, 48.0, 0.0, 12.0, 5.0)) for x in s]
    (bulge,) = ask(s, outlines).roof.bulges
    assert bulge.thinly_measured is thin
    seen = np.count_nonzero(np.abs(s - 48.0) < stands_on(12.0, 5.0, 0.5))
    assert bulge.stations_seen == pytest.approx(seen, abs=0 if thin else 1)


def test_the_bulge_limit_is_the_job_s(ask: Ask) -> None:
    s = np.arange(0.0, 101.0, 2.0)
    outlines = [section_with(cap(x, 50.0, 0.0, 12.0, 1.0)) for x in s]
    assert len(ask(s, outlines).roof.bulges) == 1
    assert ask(s, outlines, limits=Limits(bulge_mm=1.2)).roof.bulges == ()


def test_a_hollow_longer_than_the_straightedge_asks_for_a_line(ask: Ask) -> None:
    s = np.arange(0.0, 121.0, 4.0)
    depth = 8.0 * np.maximum(0.0, 1.0 - ((s - 60.0) / 45.0) ** 2)
    outlines = [rectangle(42.0, 50.0 - d, CornerRadii(9.5, 9.5, 6.0, 6.0)).moved(0.0, -0.5 * d) for d in depth]
    ((start, end),) = ask(s, outlines).roof.line_wanted
    assert start < 40.0
    assert end > 80.0
    assert end - start > 40.0


# The map


MIXED = [
    Outline.polygon([(-18.0, -22.0), (20.0, -20.0), (22.0, 5.0), (8.0, 24.0), (-10.0, 26.0), (-21.0, 8.0)]),
    rectangle(42.0, 50.0, CornerRadii(12.0, 9.0, 6.0, 6.0)).moved(2.0, 1.0),
    section_with(cap(0.0, 0.0, 2.0, 12.0, 6.0)),
    circle(44.0).moved(-1.0, 2.0),
]


def test_the_map_at_a_station_is_the_outline_itself(ask: Ask, line: Lines) -> None:
    s = np.array([0.0, 30.0, 50.0, 90.0])
    level = 30.0
    answers = ask(s, MIXED, target=Target("line", roof=line((0.0, level), (90.0, level))))
    roof_map, wanted = answers.roof.map, answers.wanted
    for outline, at in zip(MIXED, s, strict=True):
        row = int(np.argmin(np.abs(roof_map.distance_mm - at)))
        assert roof_map.distance_mm[row] == at
        inside = np.isfinite(roof_map.proud_mm[row])
        assert inside.sum() > 20
        across = roof_map.across_mm[inside]
        # highest crossings of the outline itself, edge by edge
        points = outline.points_mm
        ends = np.roll(points, -1, axis=0)
        own = []
        for u in across:
            meets = (points[:, 0] - u) * (ends[:, 0] - u) <= 0.0
            meets &= points[:, 0] != ends[:, 0]
            a, b = points[meets], ends[meets]
            own.append((a[:, 1] + (b[:, 1] - a[:, 1]) * (u - a[:, 0]) / (b[:, 0] - a[:, 0])).max())
        target = wanted.edges[row].height_mm(across)
        assert roof_map.proud_mm[row, inside] == pytest.approx(target - np.array(own), abs=1e-9)
        assert wanted.height_mm[row] == pytest.approx(level)


def test_the_map_ends_where_roof_becomes_wall(ask: Ask) -> None:
    result = ask([0.0, 50.0], [circle(46.0)] * 2).roof.map
    inside = np.isfinite(result.proud_mm[0])
    reach = np.abs(result.across_mm[inside]).max()
    assert reach == pytest.approx(23.0 * np.sin(np.radians(60.0)), abs=0.5)


def test_the_map_ends_where_the_roof_ends(ask: Ask) -> None:
    s = np.linspace(0.0, 100.0, 11)
    result = ask(s, [circle(46.0)] * 11, roof_end_mm=62.0).roof
    assert result.end_mm == pytest.approx(62.0, abs=0.5)
    assert result.map.distance_mm[-1] == result.end_mm
    assert result.line_mm[-1, 0] == 100.0


def test_peak_is_the_most_proud_place_and_lowest_the_least(ask: Ask, table_of: Tables) -> None:
    # wanted: a roof that climbs from 2 below the cast roof to 4 above it
    s = np.linspace(0.0, 80.0, 9)
    radii = CornerRadii(6.0, 6.0, 6.0, 6.0)
    box = rectangle(42.0, 50.0, radii)
    wanted = [rectangle(42.0, 50.0 + r, radii).moved(0.0, 0.5 * r) for r in np.linspace(-2.0, 4.0, 9)]
    result = ask(s, [box] * 9, target=Target("wedge", sections=table_of(s, wanted))).roof
    assert (result.peak.distance_mm, result.peak.proud_mm) == pytest.approx((80.0, 4.0))
    assert (result.lowest.distance_mm, result.lowest.proud_mm) == pytest.approx((0.0, -2.0))


def test_a_bulge_on_a_bend_is_measured_on_the_roof_s_own_length(ask: Ask, line: Lines) -> None:
    # outside a bend of 60 mm the roof at 85 is 85/60 as long as the path; a dent across the whole width
    radius, s = 60.0, np.linspace(0.0, 40.0, 41)
    depth = 4.0 * np.maximum(0.0, 1.0 - ((s - 20.0) / 8.0) ** 2)
    outlines = [rectangle(42.0, 50.0 - d, CornerRadii(0, 0, 0, 0)).moved(0.0, -0.5 * d) for d in depth]
    target = Target("line", roof=line((0.0, 25.0), (40.0, 25.0)))
    answers = ask(s, outlines, pitch_deg=np.degrees(s / radius), target=target)
    (bulge,) = answers.roof.bulges
    t = np.linspace(12.0, 28.0, 20001)
    hang = 4.0 * (1.0 - ((t - 20.0) / 8.0) ** 2)
    out = hang > 0.5
    columns = bulge.across_to_mm - bulge.across_from_mm + 0.5
    assert columns > 38.0
    on_roof = (radius + 25.0 - hang) / radius
    assert bulge.area_mm2 == pytest.approx(
        np.trapezoid(np.where(out, on_roof, 0.0), t) * columns, rel=0.05
    )  # whole slabs
    assert bulge.volume_mm3 == pytest.approx(np.trapezoid(np.where(out, on_roof * hang, 0.0), t) * columns, rel=0.03)


@pytest.mark.parametrize(("wide", "count"), [(2.0, 0), (12.0, 1)])
def test_a_grain_smaller_than_three_millimetres_across_is_no_bulge(wide: float, count: int) -> None:
    s, across = np.arange(0.0, 60.0, 0.5), np.arange(-20.0, 20.5, 0.5)
    out = np.where((np.abs(s - 30.0) <= 0.5 * wide)[:, None] & (np.abs(across) <= 0.5 * wide), 0.8, 0.0)
    found = find_bulges(s, across, out, out, np.ones_like(out), np.arange(0, 120, 20), Limits())
    assert len(found) == count
