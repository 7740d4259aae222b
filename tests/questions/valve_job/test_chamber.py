"""Room round the valves and the chamber's volume, each against a closed form."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.job.flow_values import Engine
from portgeom.job.values import Valve
from portgeom.job.valve_values import Chamber, ValveLimits
from portgeom.questions.valve_job.chamber import chamber_sheet

INTAKE = Valve("intake", 50.0, 44.0, 8.0, 45.0, 1.0)
EXHAUST = Valve("exhaust", 40.0, 35.0, 8.0, 45.0, 1.0)
ENGINE = Engine(bore_mm=100.0, stroke_mm=80.0, speed_rpm=6000.0)


def test_a_valve_off_the_bore_s_middle_comes_near_its_wall_as_the_circles_lie() -> None:
    sheet = chamber_sheet(Chamber(bore_mm=100.0, intake_mm=np.array([-20.0, 5.0])), [INTAKE, EXHAUST])
    (room,) = sheet.valves
    assert room.least_bore_mm == pytest.approx(50.0 - sqrt(20.0**2 + 5.0**2) - 25.0)
    assert room.least_chamber_mm is None
    for at in room.round:
        clock = radians(at.clock_deg)
        assert at.bore_mm is not None
        reach = at.bore_mm + 25.0
        edge = -20.0 + reach * sin(clock), 5.0 + reach * cos(clock)
        assert edge[0] ** 2 + edge[1] ** 2 == pytest.approx(50.0**2)
    # 9 o'clock is to the left as seen from the chamber, the manifold face up: nearest there
    assert min(room.round, key=lambda a: a.bore_mm).clock_deg == 270.0


def test_a_chamber_s_straight_walls_are_as_far_as_they_are() -> None:
    wall = rectangle(90.0, 70.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    (room,) = chamber_sheet(Chamber(outline=wall, intake_mm=np.array([-15.0, 4.0])), [INTAKE]).valves
    by_clock = {a.clock_deg: a.chamber_mm for a in room.round}
    assert by_clock[0.0] == pytest.approx(35.0 - 4.0 - 25.0)
    assert by_clock[90.0] == pytest.approx(45.0 + 15.0 - 25.0)
    assert by_clock[180.0] == pytest.approx(35.0 + 4.0 - 25.0)
    assert by_clock[270.0] == pytest.approx(45.0 - 15.0 - 25.0)
    assert room.least_chamber_mm == pytest.approx(5.0)
    assert [a.bore_mm for a in room.round] == [None] * 12


def test_a_valve_past_the_wall_is_told_with_a_minus() -> None:
    (room,) = chamber_sheet(Chamber(outline=circle(60.0), intake_mm=np.array([10.0, 0.0])), [INTAKE]).valves
    assert room.least_chamber_mm == pytest.approx(30.0 - 10.0 - 25.0, abs=1e-3)
    assert not room.sound


def test_the_room_asked_for_is_the_user_s_or_common_practice() -> None:
    chamber = Chamber(bore_mm=100.0, intake_mm=np.array([-23.0, 0.0]))
    sheet = chamber_sheet(chamber, [INTAKE])
    assert sheet.valves[0].least_bore_mm == pytest.approx(2.0)
    assert not sheet.found
    strict = Valve("intake", 50.0, 44.0, 8.0, 45.0, 1.0, limits=ValveLimits(room_mm=2.5))
    assert chamber_sheet(chamber, [strict]).found


def test_two_valves_are_as_far_apart_as_their_edges() -> None:
    centres = {"intake_mm": np.array([-22.0, 0.0]), "exhaust_mm": np.array([25.0, 3.0])}
    sheet = chamber_sheet(Chamber(bore_mm=104.0, **centres), [INTAKE, EXHAUST])
    assert sheet.between_mm == pytest.approx(sqrt(47.0**2 + 3.0**2) - 45.0)


def test_milling_takes_the_area_at_the_deck_times_its_depth() -> None:
    chamber = Chamber(outline=circle(90.0), poured_cc=64.0, wanted_cc=60.0)
    sheet = chamber_sheet(chamber, [], deck_mm=0.5)
    area = pi * 45.0**2
    assert sheet.deck_area_mm2 == pytest.approx(area)
    assert sheet.milled is not None
    assert sheet.milled.volume_cc == pytest.approx(64.0 - area * 0.5 / 1000.0)
    assert sheet.milled.ratio is None
    assert sheet.to_wanted_mm == pytest.approx(4.0 * 1000.0 / area)
    assert chamber_sheet(Chamber(deck_area_mm2=5000.0, poured_cc=64.0), [], deck_mm=1.0).milled.volume_cc == 59.0


def test_the_compression_ratio_is_swept_and_left_over_left() -> None:
    chamber = Chamber(
        deck_area_mm2=5000.0, poured_cc=64.0, gasket_bore_mm=102.0, gasket_thickness_mm=1.0, deck_clearance_mm=0.4,
        piston_cc=5.0,
    )  # fmt: skip
    sheet = chamber_sheet(chamber, [], deck_mm=1.0, engine=ENGINE)
    swept = pi * 50.0**2 * 80.0 / 1000.0
    left = 64.0 + pi * 51.0**2 * 1.0 / 1000.0 + pi * 50.0**2 * 0.4 / 1000.0 + 5.0
    assert sheet.now is not None
    assert sheet.now.ratio == pytest.approx((swept + left) / left)
    assert sheet.milled is not None
    assert sheet.milled.ratio == pytest.approx((swept + left - 5.0) / (left - 5.0))
    assert sheet.assumed == ()


def test_what_a_ratio_takes_for_granted_is_told() -> None:
    sheet = chamber_sheet(Chamber(poured_cc=64.0, gasket_thickness_mm=1.0), [], engine=ENGINE)
    assert len(sheet.assumed) == 3
    assert sheet.now is not None
    assert sheet.now.ratio is not None
    assert chamber_sheet(Chamber(poured_cc=64.0), [], engine=ENGINE).now.ratio is None
    assert chamber_sheet(Chamber(poured_cc=64.0, gasket_thickness_mm=1.0), []).assumed == ()


def test_an_empty_chamber_says_nothing() -> None:
    sheet = chamber_sheet(Chamber(bore_mm=100.0), [INTAKE, EXHAUST])
    assert (sheet.valves, sheet.between_mm, sheet.now, sheet.milled, sheet.to_wanted_mm) == ((), None, None, None, None)
    assert not sheet.found
