"""A valve job, a chamber and an exhaust read in honest digits and say whose their limits are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.flow_values import Engine
from portgeom.job.values import Valve
from portgeom.job.valve_values import Chamber, Seat, SeatCut, ValveGuide, ValveLimits
from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.shown import Shown
from portgeom.output.words.valve_doc import (
    chamber_json,
    chamber_lines,
    cut_headings,
    cut_rows,
    exhaust_lines,
    micro,
    room_headings,
    room_rows,
    sheet_json,
    sheet_rows,
)
from portgeom.questions.valve_job.chamber import chamber_sheet
from portgeom.questions.valve_job.exhaust import FACE_PERCENT, Exhaust
from portgeom.questions.valve_job.limits import THROAT_PERCENT
from portgeom.questions.valve_job.seat import seat_sheet

MM, IN = Shown("mm"), Shown("in")
VALVE = Valve(
    "intake", 50.0, 44.0, 8.0, 45.0, 1.0,
    seat=Seat((SeatCut(30.0, 1.0), SeatCut(45.0, 1.4)), 48.0, runout_mm=0.08),
    guide=ValveGuide(inner_diameter_mm=8.03),
    limits=ValveLimits(clearance_low_mm=0.02, clearance_high_mm=0.05),
)  # fmt: skip


@pytest.mark.parametrize(
    ("size", "mm", "inches"), [(0.025, "0.025", "0.0010"), (0.04, "0.04", "0.0016"), (13.0, "13.00", "0.5118")]
)
def test_small_sizes_keep_the_digits_they_are_measured_with(size: float, mm: str, inches: str) -> None:
    assert (micro(size, MM), micro(size, IN)) == (mm, inches)


def test_a_row_says_whether_its_limit_holds_and_whose_it_is() -> None:
    rows = {r[0]: r[1:] for r in sheet_rows(seat_sheet(VALVE), MM)}
    assert rows["runout of the seat"] == ["0.08 mm", "at most 0.05", "common practice", "OUTSIDE"]
    assert rows["stem's clearance in the guide"] == ["0.03 mm", "0.02 to 0.05", "your limit", "holds"]
    assert rows["throat to valve, as given"][1:3] == ["85 to 91", "common practice"]


def test_cuts_have_a_cell_for_every_heading() -> None:
    rows = cut_rows(seat_sheet(VALVE), MM)
    assert [r[0] for r in rows] == ["30 degrees", "45 degrees, seats"]
    assert {len(r) for r in rows} == {len(cut_headings(MM))}


def test_the_document_has_numbers_and_null_for_no_bound() -> None:
    entry = sheet_json(seat_sheet(VALVE), Numbers("mm"))
    runout = next(f for f in entry["figures"] if f["name"].startswith("runout"))
    assert (runout["value"], runout["limit"]["high"], runout["holds"]) == (0.08, 0.05, False)
    wall = sheet_json(seat_sheet(replace(VALVE, seat=Seat(insert_diameter_mm=54.0))), Numbers("mm"))
    assert next(f for f in wall["figures"] if "insert" in f["name"])["limit"]["high"] is None


def test_a_chamber_is_told_as_far_as_it_was_measured() -> None:
    assert chamber_lines(chamber_sheet(Chamber(bore_mm=90.0), [VALVE]), MM) == []
    poured = chamber_lines(chamber_sheet(Chamber(poured_cc=60.0), []), MM)
    assert poured == ["The chamber holds 60.0 cc as poured."]
    chamber = Chamber(
        outline=circle(90.0), bore_mm=94.0, intake_mm=np.array([-19.0, 0.0]), poured_cc=60.0, wanted_cc=58.0,
        gasket_thickness_mm=1.0,
    )  # fmt: skip
    sheet = chamber_sheet(chamber, [VALVE], deck_mm=0.4, engine=Engine(94.0, 80.0, 5000.0))
    words = " ".join(chamber_lines(sheet, MM))
    assert "1.00 mm from the chamber's wall and 3.00 mm from the bore (at least 1.50 mm, common practice)" in words
    assert "too near" in words
    assert "every 0.1 mm off the deck takes 0.64 cc" in words
    assert "With 0.40 mm off the deck it holds 57.5 cc, compression" in words
    assert "take 0.31 mm off the deck" in words
    assert "taken as flat" in words
    assert [r[0] for r in room_rows(sheet, MM)] == ["intake to chamber", "intake to bore"]
    assert {len(r) for r in room_rows(sheet, MM)} == {len(room_headings())}
    entry = chamber_json(sheet, Numbers("mm"))
    assert entry["valves"][0]["least_to_chamber"] == pytest.approx(1.0, abs=1e-3)
    assert entry["between_valves"] is None


def test_an_exhaust_says_what_is_outside_common_practice() -> None:
    sound = Exhaust(88.0, THROAT_PERCENT["exhaust"], 124.0, FACE_PERCENT, 0.0)
    words = " ".join(exhaust_lines(sound, MM))
    assert "88.0 percent of the valve's head, of 86 to 90 (common practice)" in words
    assert "124.0 percent of the throat's area, of 115 to 135 (common practice)" in words
    assert "floor is kept" in words
    assert "outside" not in words
    bad = Exhaust(93.0, THROAT_PERCENT["exhaust"], 101.0, FACE_PERCENT, 1.2)
    words = " ".join(exhaust_lines(bad, MM))
    assert words.count("outside that") == 2
    assert "up to 1.2 mm lower than as cast" in words
    assert "valve's head" not in " ".join(exhaust_lines(replace(bad, throat_percent=None), MM))
