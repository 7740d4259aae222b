"""Figures of a valve job, each worked by hand from what was measured."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from portgeom.job.values import Valve
from portgeom.job.valve_values import Seat, SeatCut, ValveGuide, ValveLimits
from portgeom.questions.valve_job.seat import Figure, SeatSheet, seat_sheet

CUTS = (SeatCut(30.0, 1.2), SeatCut(45.0, 1.5), SeatCut(60.0, 2.0))
SEAT = Seat(CUTS, contact_diameter_mm=50.0, insert_diameter_mm=55.0, runout_mm=0.03, depth_mm=0.7)
GUIDE = ValveGuide(outer_diameter_mm=13.0, inner_diameter_mm=8.04, boss_diameter_mm=19.0, boss_length_mm=52.0)


def valve(kind: str = "intake", *, seat: Seat | None = SEAT, guide: ValveGuide | None = GUIDE, **more: object) -> Valve:
    return Valve(kind, 52.0, 46.0, 8.0, 45.0, 1.5 * cos(radians(45.0)), seat=seat, guide=guide, **more)


def figure(sheet: SeatSheet, words: str) -> Figure:
    (found,) = [f for f in sheet.figures if words in f.name]
    return found


def test_each_cut_lies_where_its_width_along_the_slope_puts_it() -> None:
    first, seating, last = seat_sheet(valve()).cuts
    radial = [1.2 * cos(radians(30.0)), 1.5 * cos(radians(45.0)), 2.0 * cos(radians(60.0))]
    assert seating.seats
    assert not first.seats
    # the contact's own diameter is that of its middle
    assert seating.outer_mm == pytest.approx(50.0 + radial[1])
    assert seating.inner_mm == pytest.approx(50.0 - radial[1])
    assert first.outer_mm == pytest.approx(50.0 + radial[1] + 2.0 * radial[0])
    assert first.inner_mm == pytest.approx(seating.outer_mm)
    assert last.outer_mm == pytest.approx(seating.inner_mm)
    assert last.inner_mm == pytest.approx(50.0 - radial[1] - 2.0 * radial[2])
    assert last.deep_mm == pytest.approx(2.0 * sin(radians(60.0)))


def test_figures_of_the_seat() -> None:
    sheet = seat_sheet(valve())
    assert figure(sheet, "throat to valve, as given").value == pytest.approx(100.0 * 46.0 / 52.0)
    assert figure(sheet, "insert wall").value == pytest.approx(0.5 * (55.0 - 46.0))
    edge = 50.0 + 1.5 * cos(radians(45.0))
    assert figure(sheet, "outside contact").value == pytest.approx(0.5 * (52.0 - edge))
    assert figure(sheet, "runout").value == 0.03
    assert figure(sheet, "below the chamber").value == 0.7


def test_figures_of_the_guide() -> None:
    sheet = seat_sheet(valve())
    assert figure(sheet, "clearance").value == pytest.approx(0.04)
    assert figure(sheet, "wall of the guide").value == pytest.approx(0.5 * (13.0 - 8.04))
    assert figure(sheet, "metal left round the guide").value == pytest.approx(3.0)
    assert figure(sheet, "over the stem").value == pytest.approx(6.5)


def test_the_throat_measured_in_the_port_stands_before_the_job_s() -> None:
    sheet = seat_sheet(valve(), throats_mm={"1": 47.6})
    found = figure(sheet, "throat to valve, port 1")
    assert found.value == pytest.approx(100.0 * 47.6 / 52.0)
    assert not found.sound
    assert figure(sheet, "insert wall").value == pytest.approx(0.5 * (55.0 - 47.6))
    assert sheet.found


def test_a_sound_sheet_finds_nothing_and_says_whose_its_limits_are() -> None:
    sheet = seat_sheet(valve())
    assert not sheet.found
    assert sheet.remarks == ()
    assert {f.limit.source for f in sheet.figures if f.limit} == {"common practice"}
    own = seat_sheet(valve(limits=ValveLimits(insert_wall_mm=5.0, clearance_low_mm=0.05)))
    assert figure(own, "insert wall").limit is not None
    assert figure(own, "insert wall").limit.source == "job"
    assert not figure(own, "insert wall").sound
    # one bound given: the other is the user's to leave open
    assert not figure(own, "clearance").sound
    assert figure(seat_sheet(valve(limits=ValveLimits(clearance_low_mm=0.03))), "clearance").sound


def test_exhaust_throats_and_stems_have_limits_of_their_own() -> None:
    # common practice, no source: throat of an exhaust 86 to 90 percent of its valve
    low, high = 0.859 * 52.0, 0.901 * 52.0
    assert not figure(seat_sheet(valve("exhaust"), throats_mm={"1": low}), "throat to valve").sound
    assert not figure(seat_sheet(valve("exhaust"), throats_mm={"1": high}), "throat to valve").sound
    assert figure(seat_sheet(valve("exhaust"), throats_mm={"1": 0.88 * 52.0}), "throat to valve").sound
    assert figure(seat_sheet(valve("intake"), throats_mm={"1": low}), "throat to valve").sound


def test_what_was_not_measured_is_not_there() -> None:
    names = [f.name for f in seat_sheet(valve(seat=None, guide=None)).figures]
    assert names == ["throat to valve, as given"]
    only = seat_sheet(valve(seat=Seat(runout_mm=0.02), guide=ValveGuide(boss_length_mm=50.0)))
    assert [f.name for f in only.figures][1:] == [
        "runout of the seat",
        "length of the boss",
        "boss length over the stem",
    ]
    assert only.cuts == ()


def test_the_boss_of_the_port_stands_in_where_the_guide_has_none() -> None:
    bare = ValveGuide(outer_diameter_mm=13.0)
    assert figure(seat_sheet(valve(guide=bare), boss_diameter_mm=15.0), "metal left").value == pytest.approx(1.0)
    assert not [f for f in seat_sheet(valve(guide=bare)).figures if "metal left" in f.name]


@pytest.mark.parametrize(
    ("seat", "words"),
    [
        (Seat(CUTS, 51.5), "past the valve's edge"),
        (Seat(CUTS, 50.0, insert_diameter_mm=52.0), "past the insert"),
        (Seat((*CUTS[:2], SeatCut(60.0, 6.0)), 50.0), "inside the throat"),
        (Seat((SeatCut(45.0, 2.5),), 49.0), "not as wide"),
    ],
)
def test_cuts_that_do_not_agree_are_remarked_on(seat: Seat, words: str) -> None:
    sheet = seat_sheet(valve(seat=seat))
    assert any(words in r for r in sheet.remarks)
    assert sheet.found
