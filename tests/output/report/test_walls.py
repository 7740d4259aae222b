"""What the report says of walls: every wall once all is done, what changed on the way, and what to beware of."""

from __future__ import annotations

from dataclasses import replace

import pytest

from portgeom.output.report.walls import caution_lines, state_words, verdict_lines, walls_section
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.shown import Shown
from portgeom.questions.cutting.passes import KeptBack

MM = Shown("mm")


@pytest.fixture(scope="module")
def cutting(drilled, cut):
    return cut(drilled)[0]


def test_every_wall_is_told_in_words_at_the_target(drilled, cutting):
    hole, face = verdict_lines(drilled.answers[0], cutting, MM)
    # the roof wanted is flat at 25, the hole ends at 28, the face lies at 37
    assert hole.startswith("bolt hole: 3.0 mm left at ")
    assert "Thin over" in hole
    assert "0.5 mm under the limit" in hole
    assert face.startswith("rail face: 12.0 mm left at ")
    assert "Enough: 9.0 mm over the limit of 3.0 mm." in face


def test_table_runs_from_as_cast_to_the_target(drilled, cutting):
    html = walls_section(drilled.answers[0], cutting, EMPTY, MM)
    rows = [r for r in html.split("<tr>")[1:] if "bolt hole" in r]
    assert "as cast" in rows[0]
    assert "target" in rows[-1]
    assert "thin" in rows[-1]
    assert any("after " in r for r in rows)


def test_each_caution_is_told_once_where_it_first_comes_up(drilled, cutting, cut):
    near = replace(drilled.job.hazards[0], start_mm=drilled.job.hazards[0].start_mm - (0.0, 0.0, 2.5))
    asked = replace(drilled, job=replace(drilled.job, hazards=(near,)))
    lines = caution_lines(asked.answers[0], cut(asked)[0], MM)
    # 0.5 mm of metal at the target, under the millimetre that iron castings shift by
    (line,) = [x for x in lines if "under 1.0 mm of metal to bolt hole" in x]
    assert line.startswith("After ")
    assert caution_lines(drilled.answers[0], cutting, MM) == []


def test_where_walls_are_respected_what_the_last_pass_leaves_counts(cutting):
    assert cutting.finished.state == "target"
    held = replace(cutting, kept_back=KeptBack(100.0, 1.0))
    assert held.finished.state == "after blend"


def test_states_are_called_as_one_speaks(cutting):
    assert [state_words(w) for w in cutting.walls] == [
        "as cast",
        "after grooves",
        "after level",
        "after blend",
        "at the target",
    ]


def test_nothing_named_behind_the_walls_says_nothing(boss, cut):
    assert walls_section(boss.answers[0], cut(boss)[0], EMPTY, MM) == EMPTY
