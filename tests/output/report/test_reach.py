"""What the report says of reach: a row a cutter, and what none of them gets to."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from portgeom.output.report.reach import reach_section
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.reach_doc import whole_percent
from portgeom.output.words.shown import Shown

MM = Shown("mm")


@pytest.fixture(scope="module")
def cutting(drilled, cut):
    return cut(drilled)[0]


def test_a_row_for_every_cutter_that_the_passes_use(drilled, cutting):
    html = reach_section(drilled.answers[0], cutting, MM)
    rows = re.findall(r"<tbody>(.*?)</tbody>", html, re.S)[0].split("<tr>")[1:]
    (row,), (one,) = rows, cutting.reach.cutters
    cells = re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)
    assert cells[:4] == ["ball 10", *(whole_percent(x) for x in (one.entry.share, one.seat.share, one.either_share))]


def test_a_straight_open_port_is_reached_all_over(drilled, cutting):
    html = reach_section(drilled.answers[0], cutting, MM)
    assert "Every place is reached by one of the cutters that the passes use" in html


def test_what_no_cutter_reaches_is_told_with_its_amount(drilled, cutting):
    none = replace(cutting.reach.none, volume_mm3=0.4 * cutting.reach.volume_mm3, share=0.4)
    html = reach_section(drilled.answers[0], replace(cutting, reach=replace(cutting.reach, none=none)), MM)
    assert f"reaches {MM.volume(none.volume_mm3)}, 40 percent, here and there in patches too small to name." in html


def test_declared_vibration_is_told_with_the_minutes_it_allows(drilled, cutting):
    html = reach_section(drilled.answers[0], cutting, MM)
    # 480 min x (2.5 / 10)^2 and x (5 / 10)^2
    assert "action value after 30 min, limit value after 120 min" in html


def test_no_cutter_or_nothing_to_come_off_says_nothing(boss, plain, cut):
    assert reach_section(boss.answers[0], cut(boss)[0], MM) == EMPTY
    assert reach_section(plain.answers[0], cut(plain)[0], MM) == EMPTY
