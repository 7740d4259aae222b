"""Sections are seen looking in; past 45 degrees of turn also from the chamber, left and right swapped."""

from __future__ import annotations

import numpy as np

from portgeom.output.charts.section_chart import MOST_ROWS, draw_sections, section_charts
from portgeom.output.words.shown import Shown


def test_every_station_is_its_own_outline(boss):
    answer = boss.answers[0]
    sections = [s for page in section_charts(answer, Shown("mm")) for s in page.looking_in]
    for section, row in zip(sections, answer.stage.stage.sections.rows, strict=True):
        np.testing.assert_array_equal(section.present, row.outline.points_mm)


def test_only_sections_past_45_degrees_are_seen_from_the_chamber(bend):
    chart = section_charts(bend.answers[0], Shown("mm"))[0]
    # stations at 0, 10, ... 90 degrees: 50 to 90 lie past 45
    assert len(chart.looking_in) == 10
    assert [s.title for s in chart.from_chamber] == [s.title for s in chart.looking_in[5:]]


def test_left_and_right_swap_from_the_chamber(pair):
    chart = section_charts(pair.answers[1], Shown("mm"))[0]
    named = {s.title: s for s in chart.looking_in}
    assert chart.from_chamber
    for section in chart.from_chamber:
        np.testing.assert_array_equal(section.present * (-1.0, 1.0), named[section.title].present)


def test_captions_name_the_walls_on_the_right_sides(pair, words_on):
    bold = [w.text for w in words_on(draw_sections(section_charts(pair.answers[1], Shown("mm"))[0])) if w.bold]
    assert bold == [
        "Looking in from the manifold face, deck down (common wall at the left, pushrod wall at the right)",
        "As seen from the chamber, the side of the roof up: left and right swap "
        "(pushrod wall at the left, common wall at the right)",
    ]


def test_area_to_come_off_is_told_under_the_boss(boss):
    sections = [s for page in section_charts(boss.answers[0], Shown("mm")) for s in page.looking_in]
    at_peak = next(s for s in sections if s.title.endswith("at 50.0 mm"))
    clear = sections[0]
    assert at_peak.below.endswith("to come off")
    assert "to come off" not in clear.below


def test_many_stations_go_on_several_pages_without_losing_one(boss):
    pages = section_charts(boss.answers[0], Shown("mm"))
    # 51 stations, five in a row
    assert [len(p.looking_in) for p in pages] == [5 * MOST_ROWS, 5 * MOST_ROWS, 1]
