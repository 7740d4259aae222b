"""What the report says of the head as a whole, and nothing at all of what the job does not say."""

from __future__ import annotations

import re

import numpy as np

from portgeom.geometry.shapes import circle
from portgeom.job.match_values import FaceMatch, MatchPart
from portgeom.job.quote_values import FixedTime, Quote, Range
from portgeom.job.receipt_values import Receipt
from portgeom.job.values import Valve
from portgeom.job.valve_values import Chamber, Seat, ValveGuide
from portgeom.output.report.head import quote_section, receipt_section, valves_section
from portgeom.output.report.match import match_section
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.shown import Shown
from portgeom.questions.handover.sheets import NO_SHEETS, HeadSheets
from portgeom.questions.match.match import match
from portgeom.questions.quote.quote import PortWork, quote
from portgeom.questions.valve_job.chamber import chamber_sheet
from portgeom.questions.valve_job.seat import seat_sheet

MM = Shown("mm")
HOSTILE = "<script>x</script>"


def empty_headings(html: str) -> list[str]:
    return re.findall(r"<h[234]>[^<]*</h[234]>\s*(?=<h[234]>|$)", html)


def test_a_job_that_says_nothing_gets_nothing(plain) -> None:
    assert receipt_section(plain.job, MM) == EMPTY
    assert valves_section(NO_SHEETS, MM) == EMPTY
    assert quote_section(None) == EMPTY
    assert match_section(None, EMPTY, MM) == EMPTY
    # a chamber of which nothing follows
    assert valves_section(HeadSheets((), chamber_sheet(Chamber(bore_mm=90.0), []), None), MM) == EMPTY


def test_a_receipt_leaves_out_what_was_not_looked_at(plain) -> None:
    from dataclasses import replace

    job = replace(plain.job, receipt=Receipt(head=HOSTILE, wanted=(HOSTILE,)))
    html = receipt_section(job, MM)
    assert "<script" not in html
    assert "crack test" not in html
    assert "What is wanted" in html
    assert "Work done" not in html
    assert not empty_headings(html)


def test_seats_and_chamber_are_told_together() -> None:
    valve = Valve(
        "intake", 50.0, 44.0, 8.0, 45.0, 1.0, seat=Seat(runout_mm=0.02), guide=ValveGuide(boss_length_mm=50.0)
    )
    chamber = chamber_sheet(Chamber(bore_mm=90.0, intake_mm=np.zeros(2), poured_cc=60.0), [valve])
    html = valves_section(HeadSheets((seat_sheet(valve),), chamber, None), MM)
    assert re.findall(r"<h3>([^<]*)", html) == ["Intake valve", "Chamber"]
    assert "Cuts of the seat" not in html
    assert not empty_headings(html)


def test_a_quote_has_its_price_where_there_is_a_rate() -> None:
    fixed = (FixedTime(HOSTILE, Range(60.0, 60.0, 120.0)),)
    work = [PortWork("1", (), 0.0, 100.0)]
    html = quote_section(quote(Quote(fixed=fixed, hourly_rate=50.0, currency="crowns"), work))
    assert "<script" not in html
    assert "50 to 100 crowns" in html
    assert "crowns" not in quote_section(quote(Quote(fixed=fixed), work))
    assert "Not in the hours: finishing" in html


def test_a_match_is_a_table_of_twelve() -> None:
    pins = np.array([[-30.0, 0.0], [30.0, 0.0]])
    part = MatchPart(circle(41.0), pins, np.full(2, 9.0))
    found = match(circle(40.0), FaceMatch(pins, np.full(2, 8.0), None, part), kind="intake", lean_deg=0.0)
    html = match_section(found, EMPTY, MM)
    assert html.count("<tr>") == 13
    assert "faces the flow" in html
