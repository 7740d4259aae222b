"""Sections are seen looking in; past 45 degrees of turn also from the chamber, left and right swapped."""

from __future__ import annotations

import numpy as np

from portgeom.output.figures import look
from portgeom.output.section_chart import draw_sections, section_chart
from portgeom.output.shown import Shown


def test_every_station_is_its_own_outline(boss):
    answer = boss.answers[0]
    chart = section_chart(answer, Shown("mm"))
    for section, row in zip(chart.looking_in, answer.stage.stage.sections.rows, strict=True):
        np.testing.assert_array_equal(section.present, row.outline.points_mm)


def test_only_sections_past_45_degrees_are_seen_from_the_chamber(bend):
    chart = section_chart(bend.answers[0], Shown("mm"))
    # stations at 0, 10, ... 90 degrees: 50 to 90 lie past 45
    assert len(chart.looking_in) == 10
    assert [s.title for s in chart.from_chamber] == [s.title for s in chart.looking_in[5:]]


def test_left_and_right_swap_from_the_chamber(pair):
    chart = section_chart(pair.answers[1], Shown("mm"))
    named = {s.title: s for s in chart.looking_in}
    assert chart.from_chamber
    for section in chart.from_chamber:
        np.testing.assert_array_equal(section.present * (-1.0, 1.0), named[section.title].present)


def test_captions_name_the_walls_on_the_right_sides(pair):
    with look():
        figure = draw_sections(section_chart(pair.answers[1], Shown("mm")))
    bold = [t.get_text() for t in figure.axes[0].texts if t.get_fontweight() == "bold"]
    assert bold == [
        "Looking in from the manifold face, deck down (common wall at the left, pushrod wall at the right)",
        "As seen from the chamber, the side of the roof up: left and right swap "
        "(pushrod wall at the left, common wall at the right)",
    ]


def test_area_to_come_off_is_told_under_the_boss(boss):
    chart = section_chart(boss.answers[0], Shown("mm"))
    at_peak = next(s for s in chart.looking_in if ", at 52.0 mm" in s.title or " at 52.0 mm" in s.title)
    clear = chart.looking_in[0]
    assert at_peak.below.endswith("to come off")
    assert "to come off" not in clear.below
