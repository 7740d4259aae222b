"""Necks, bellies and growth of runs of areas, each known in closed form."""

from __future__ import annotations

from collections.abc import Callable
from math import atan, degrees, pi, sqrt
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.shapes import circle
from portgeom.job.values import Limits, Schedule
from portgeom.questions.shape.taper import Taper, taper_of
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
S = np.linspace(0.0, 100.0, 201)
EVERY_TENTH = np.arange(0, 201, 20)


def taper(area: F64, **options: object) -> Taper:
    usual: dict[str, object] = {
        "station_slab": EVERY_TENTH,
        "places": ("",) * 11,
        "throat_mm": 100.0,
        "schedule": None,
        "limits": Limits(),
    }
    return taper_of(S, area, **{**usual, **options})


def through(*corners: tuple[float, float]) -> F64:
    s, area = np.array(corners).T
    return np.interp(S, s, area)


def test_a_straight_taper_is_smooth_and_stands_on_its_line() -> None:
    result = taper(through((0.0, 2000.0), (100.0, 1600.0)))
    assert (result.necks, result.bellies) == ((), ())
    assert result.smooth
    assert result.against == "straight"
    assert result.worst_above.percent == pytest.approx(0.0, abs=1e-9)
    assert result.worst_below.percent == pytest.approx(0.0, abs=1e-9)
    assert (result.entry_area_mm2, result.seat_area_mm2) == (2000.0, 1600.0)
    assert result.steepest.cone_angle_deg < 0.0


def test_a_neck_is_as_deep_as_its_nearer_shoulder_stands_over_it() -> None:
    # shoulders 2000 at the face and 1700 at 70 mm; the neck 1600 at 40 mm
    result = taper(through((0.0, 2000.0), (40.0, 1600.0), (70.0, 1700.0), (100.0, 1500.0)))
    (neck,) = result.necks
    assert neck.distance_mm == pytest.approx(40.0)
    assert neck.area_mm2 == pytest.approx(1600.0)
    assert neck.percent == pytest.approx(100.0 * 100.0 / 1700.0)
    assert neck.at_stations_percent == pytest.approx(neck.percent)
    (belly,) = result.bellies
    assert belly.distance_mm == pytest.approx(70.0)
    assert belly.percent == pytest.approx(100.0 * 100.0 / 1600.0)
    assert not result.smooth


def test_the_worst_places_are_held_against_the_straight_line() -> None:
    result = taper(through((0.0, 2000.0), (30.0, 1760.0), (60.0, 1800.0), (100.0, 1600.0)))
    assert result.worst_below.distance_mm == pytest.approx(30.0)
    assert result.worst_below.percent == pytest.approx(100.0 * (1760.0 / 1880.0 - 1.0))
    assert result.worst_above.distance_mm == pytest.approx(60.0)
    assert result.worst_above.percent == pytest.approx(100.0 * (1800.0 / 1760.0 - 1.0))


@pytest.mark.parametrize("level", [0.0, 10.0, 30.0])
def test_a_level_stretch_at_the_bottom_is_one_neck_in_its_middle(level: float) -> None:
    result = taper(through((0.0, 2000.0), (30.0, 1700.0), (30.0 + level + 1e-9, 1700.0), (100.0, 1900.0)))
    (neck,) = result.necks
    assert neck.distance_mm == pytest.approx(30.0 + 0.5 * level, abs=0.3)
    assert neck.percent == pytest.approx(100.0 * 200.0 / 1900.0)


def test_a_step_down_the_way_is_no_neck() -> None:
    result = taper(through((0.0, 2000.0), (30.0, 1800.0), (60.0, 1800.0), (100.0, 1600.0)))
    assert (result.necks, result.bellies) == ((), ())


def test_two_necks_are_each_held_against_their_own_nearer_shoulder() -> None:
    result = taper(
        through((0.0, 2000.0), (20.0, 1800.0), (40.0, 1850.0), (60.0, 1700.0), (80.0, 1750.0), (100.0, 1740.0))
    )
    found = [(round(n.distance_mm), n.percent) for n in result.necks]
    assert found == [
        (20, pytest.approx(100.0 * 50.0 / 1850.0)),
        (60, pytest.approx(100.0 * 50.0 / 1750.0)),
    ]


def test_a_shoulder_beyond_a_lower_neck_does_not_count() -> None:
    # the neck at 40 is met again, lower, at 60: going right from 40 the highest place before that is 1720
    result = taper(through((0.0, 2000.0), (40.0, 1700.0), (50.0, 1720.0), (60.0, 1600.0), (100.0, 2500.0)))
    first, second = result.necks
    assert first.percent == pytest.approx(100.0 * 20.0 / 1720.0)
    assert second.percent == pytest.approx(100.0 * 400.0 / 2000.0)


@pytest.mark.parametrize(("depth", "listed", "smooth"), [(0.0009, 0, True), (0.0011, 1, True), (0.0101, 1, False)])
def test_necks_are_listed_from_a_tenth_of_a_percent_and_count_over_one(depth: float, listed: int, smooth: bool) -> None:
    result = taper(through((0.0, 2000.0), (50.0, 2000.0 * (1.0 - depth)), (100.0, 2000.0)))
    assert len(result.necks) == listed
    assert result.smooth is smooth


def test_a_neck_between_two_stations_is_told_so_and_leaves_the_taper_smooth() -> None:
    area = through((0.0, 2000.0), (42.0, 1900.0), (45.0, 1800.0), (48.0, 1900.0), (100.0, 1900.0))
    area[EVERY_TENTH] = np.interp(S[EVERY_TENTH], [0.0, 40.0, 100.0], [2000.0, 1905.0, 1900.0])
    (neck,) = [n for n in taper(area).necks if n.percent > 1.0]
    assert neck.between_stations
    assert neck.at_stations_percent < 0.1
    assert taper(area).smooth


def test_a_belly_makes_no_taper_rough() -> None:
    assert taper(through((0.0, 1900.0), (50.0, 1960.0), (100.0, 1800.0))).smooth


def test_areas_are_judged_to_the_throat_only() -> None:
    area = through((0.0, 2000.0), (80.0, 1600.0), (90.0, 1500.0), (100.0, 1700.0))
    result = taper(area, throat_mm=80.0)
    assert result.necks == ()
    assert result.seat_area_mm2 == 1600.0


# Schedules and named places

PLACES = ("face", "", "", "pinch", "", "", "turn", "", "bowl", "", "throat")


def test_named_places_make_the_line_and_their_neck_is_planned() -> None:
    area = through((0.0, 2000.0), (30.0, 1650.0), (60.0, 1850.0), (80.0, 1950.0), (100.0, 1660.0))
    result = taper(area, places=PLACES)
    assert result.against == "places"
    assert result.line_mm2 == pytest.approx(
        np.array([(0.0, 2000.0), (30.0, 1650.0), (60.0, 1850.0), (80.0, 1950.0), (100.0, 1660.0)])
    )
    (neck,) = result.necks
    assert neck.planned
    (belly,) = result.bellies
    assert belly.planned
    assert result.smooth


def test_a_neck_beside_a_planned_one_is_not_planned() -> None:
    area = through((0.0, 2000.0), (30.0, 1650.0), (50.0, 1900.0), (60.0, 1850.0), (80.0, 1950.0), (100.0, 1660.0))
    # the line climbs from pinch through turn to bowl: at the turn it has no neck to plan
    result = taper(area, places=PLACES)
    assert [n.planned for n in result.necks] == [True, False]
    assert not result.smooth


def test_a_neck_deeper_than_its_schedule_is_not_planned() -> None:
    plan = Schedule(by_distance=((0.0, 2000.0), (30.0, 1650.0), (100.0, 1900.0)))
    as_planned = taper(through((0.0, 2000.0), (30.0, 1640.0), (100.0, 1900.0)), schedule=plan)
    assert as_planned.against == "schedule"
    assert [n.planned for n in as_planned.necks] == [True]  # within 1 percent of it
    assert as_planned.smooth
    deeper = taper(through((0.0, 2000.0), (30.0, 1600.0), (100.0, 1900.0)), schedule=plan)
    assert [n.planned for n in deeper.necks] == [False]
    assert deeper.worst_below.percent == pytest.approx(100.0 * (1600.0 / 1650.0 - 1.0))
    assert not deeper.smooth


def test_a_schedule_by_place_stands_where_the_places_are() -> None:
    plan = Schedule(by_place=(("face", 2020.0), ("pinch", 1650.0), ("throat", 1660.0)))
    result = taper(through((0.0, 2000.0), (100.0, 1700.0)), places=PLACES, schedule=plan)
    assert result.line_mm2 == pytest.approx(np.array([(0.0, 2020.0), (30.0, 1650.0), (100.0, 1660.0)]))


# Growth


def cone(angle_deg: float, start: float = 20.0) -> F64:
    return pi * (start + S * np.tan(np.radians(0.5 * angle_deg))) ** 2


@pytest.mark.parametrize(("angle", "smooth"), [(4.0, True), (9.99, True), (10.01, False), (25.0, False)])
def test_a_cone_grows_by_its_own_angle(angle: float, smooth: bool) -> None:
    result = taper(cone(angle))
    assert result.steepest.cone_angle_deg == pytest.approx(angle, abs=1e-9)
    assert result.smooth is smooth


def test_growth_is_the_mean_over_10_mm() -> None:
    # radius level but for a ramp of 1 mm over 4 mm of path between two stations 5 mm apart: over 10 mm it is 1 mm
    s = np.interp(S, [0.0, 50.0, 55.0, 100.0], [20.0, 20.0, 21.0, 21.0])
    result = taper(pi * s**2, station_slab=np.arange(0, 201, 10))
    assert result.steepest.cone_angle_deg == pytest.approx(2.0 * degrees(atan(1.0 / 10.0)))


def test_the_loft_s_own_steepness_between_stations_is_not_growth() -> None:
    # an S-curve between stations 50 mm apart, half as steep again in its middle as from one to the other
    w = np.clip((S - 25.0) / 50.0, 0.0, 1.0)
    radius = 20.0 + 2.0 * w * w * (3.0 - 2.0 * w)
    result = taper(pi * radius**2, station_slab=np.array([0, 50, 150, 200]), places=("",) * 4)
    assert result.steepest.cone_angle_deg == pytest.approx(2.0 * degrees(atan(2.0 / 50.0)))


def test_an_exhaust_grows_the_other_way() -> None:
    assert taper(cone(-6.0, 30.0)).steepest.cone_angle_deg == pytest.approx(-6.0)
    assert taper(cone(-6.0, 30.0), exhaust=True).steepest.cone_angle_deg == pytest.approx(6.0)
    assert not taper(cone(-12.0, 30.0), exhaust=True).smooth
    assert taper(cone(12.0, 20.0), exhaust=True).steepest.cone_angle_deg == pytest.approx(-12.0)


def test_an_exhaust_that_grows_evenly_to_its_face_is_smooth() -> None:
    # 25 percent more area at the face than at the throat, over 100 mm: a cone of under 3 degrees
    result = taper(through((0.0, 1.25 * 1134.0), (100.0, 1134.0)), exhaust=True)
    assert result.exhaust
    assert result.smooth
    assert result.narrows_percent == 0.0
    assert 0.0 < result.steepest.cone_angle_deg < 3.0


def test_an_exhaust_that_narrows_all_the_way_out_is_not_smooth_though_it_has_no_neck() -> None:
    area = through((0.0, 1000.0), (100.0, 1134.0))
    result = taper(area, exhaust=True)
    assert result.necks == ()
    assert result.narrows_percent == pytest.approx(100.0 * (1.0 - 1000.0 / 1134.0))
    assert not result.smooth
    # the same areas of an intake taper from face to throat: they grow with the flow, evenly
    assert taper(area).smooth
    assert taper(area).narrows_percent == 0.0


@pytest.mark.parametrize(("face", "smooth"), [(1134.0 * 0.995, True), (1134.0 * 0.985, False)])
def test_an_exhaust_may_narrow_by_as_little_as_a_neck_may_be(face: float, smooth: bool) -> None:
    assert taper(through((0.0, face), (100.0, 1134.0)), exhaust=True).smooth is smooth


def test_an_exhaust_scheduled_to_narrow_may() -> None:
    plan = Schedule(by_distance=((0.0, 1000.0), (100.0, 1134.0)))
    assert taper(through((0.0, 1000.0), (100.0, 1134.0)), exhaust=True, schedule=plan).smooth
    further = taper(through((0.0, 960.0), (100.0, 1134.0)), exhaust=True, schedule=plan)
    assert further.narrows_percent == pytest.approx(100.0 * (1000.0 - 960.0) / 1134.0)
    assert not further.smooth


def test_a_schedule_that_does_not_reach_the_face_plans_no_narrowing_there() -> None:
    plan = Schedule(by_distance=((30.0, 1000.0), (100.0, 1134.0)))
    found = taper(through((0.0, 1000.0), (100.0, 1134.0)), exhaust=True, schedule=plan)
    assert found.narrows_percent == pytest.approx(100.0 * (1.0 - 1000.0 / 1134.0))


def test_an_exhaust_s_necks_are_an_intake_s_seen_from_the_other_end() -> None:
    area = through((0.0, 1500.0), (40.0, 1300.0), (70.0, 1400.0), (100.0, 1134.0))
    (into,), (out,) = taper(area).necks, taper(area, exhaust=True).necks
    assert (into.distance_mm, into.percent) == (out.distance_mm, out.percent)
    assert not taper(area, exhaust=True).smooth


def test_a_run_shorter_than_10_mm_is_judged_over_its_length() -> None:
    s = np.linspace(0.0, 6.0, 13)
    result = taper_of(
        s,
        pi * (20.0 + 0.05 * s) ** 2,
        station_slab=np.array([0, 12]),
        places=("", ""),
        throat_mm=6.0,
        schedule=None,
        limits=Limits(),
    )
    assert result.steepest.cone_angle_deg == pytest.approx(2.0 * degrees(atan(0.05)))


# Through the loft


def test_two_equal_neighbouring_stations_make_exactly_one_neck(ask: Ask) -> None:
    diameters = [50.0, 48.0, 46.0, 46.0, 47.0, 48.0]
    result = ask(np.linspace(0.0, 100.0, 6), [circle(d) for d in diameters]).profile.taper
    (neck,) = result.necks
    assert neck.distance_mm == pytest.approx(50.0, abs=0.5)
    assert neck.percent == pytest.approx(100.0 * (1.0 - 46.0**2 / 48.0**2), rel=1e-6)
    assert neck.at_stations_percent == pytest.approx(neck.percent, rel=1e-6)
    assert not neck.between_stations


def test_a_port_that_narrows_evenly_makes_no_neck_between_its_stations(ask: Ask) -> None:
    diameters = np.sqrt(np.linspace(50.0**2, 44.0**2, 9))
    result = ask(np.linspace(0.0, 100.0, 9), [circle(d) for d in diameters]).profile.taper
    assert (result.necks, result.bellies) == ((), ())
    assert result.smooth
    assert abs(result.worst_above.percent) < 0.01


def test_the_smallest_area_is_looked_for_up_to_the_throat(ask: Ask) -> None:
    diameters = [50.0, 46.0, 48.0, 44.0, 40.0]
    s = np.linspace(0.0, 80.0, 5)
    outlines = [circle(d) for d in diameters]
    whole, short = ask(s, outlines).profile, ask(s, outlines, throat_mm=40.0).profile
    assert (whole.smallest.distance_mm, whole.smallest.area_mm2) == pytest.approx((80.0, pi * 20.0**2))
    assert (short.smallest.distance_mm, short.smallest.area_mm2) == pytest.approx((20.0, pi * 23.0**2))
    assert sqrt(4.0 * short.taper.seat_area_mm2 / pi) == pytest.approx(48.0)
