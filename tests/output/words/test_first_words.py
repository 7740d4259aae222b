"""The first screen answers in plain words, signs never as signs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.output.words.first_words import first_answers, rough_words
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.places import bench_scale


@pytest.fixture
def told(cut):
    def words(asked, units="mm"):
        found = first_answers(asked.job, asked.answers[0], cut(asked, units)[0], Shown(units))
        return {a.question: a for a in found}

    return words


def test_a_boss_is_where_the_roof_hangs_and_what_to_do_first(told, boss):
    answers = told(boss)
    roof = answers["Where does the roof hang?"]
    assert roof.figure == "6.0 mm above the line: metal to take off"
    assert roof.words[0].startswith("At 50.0 mm (50.0 square from the face, ")
    assert "along the roof)" in roof.words[0]
    first = answers["What to do first?"]
    assert first.figure == "depth grooves: roof, ball 10 (assumed)"
    assert any(w.startswith("Mark the peak of bulge 1 at 50.0 mm") for w in first.words)


def test_metal_is_told_in_cc_and_grams_by_side_and_place(told, boss):
    metal = told(boss)["How much metal comes off?"]
    # a spherical cap of height 6 on a base of radius 12
    volume_cc = np.pi * 6.0 * (3.0 * 12.0**2 + 6.0**2) / 6.0 / 1000.0
    assert metal.figure == f"{volume_cc:.1f} cc, {volume_cc * 7.2:.0f} g of grey iron"
    assert metal.words[0] == f"By side: roof {volume_cc:.1f} cc, left wall 0.0 cc, right wall 0.0 cc, floor 0.0 cc."
    assert metal.words[1].endswith("12 o'clock, roof.")


def test_rough_taper_says_where_and_that_it_is_smooth_then(told, boss):
    taper = told(boss)["Does the area taper smoothly?"]
    assert taper.figure == "not smooth"
    assert taper.words[0].startswith("Neck of ")
    assert any(w.startswith("Once the metal is off: smooth") for w in taper.words)


def test_a_guess_is_called_a_guess(told, plain):
    assert any("a guess, made by bridging" in w for w in told(plain)["Where does the roof hang?"].words)


def test_an_overcut_roof_is_told_in_words(told, past):
    answers = told(past)
    assert answers["Where does the roof hang?"].figure == "already 0.4 mm past the line"
    metal = answers["How much metal comes off?"]
    assert metal.figure == "nothing"
    assert any("already gone" in w for w in metal.words)
    assert answers["What to do first?"].figure == "measure again"


def test_thinnest_wall_is_told_with_its_verdict_and_what_it_is_now(told, drilled):
    walls = told(drilled)["How thin do the walls get?"]
    # a flat roof at the target, 3 mm under the flat end of the hole, whose limit is 3.5
    assert walls.figure == "3.0 mm left to bolt hole: thin"
    assert "0.5 mm under the limit" in walls.words[0]
    assert any(w.startswith("As it is now: ") for w in walls.words)


def test_a_wall_that_gets_too_thin_is_settled_before_any_metal_comes_off(told, drilled):
    first = told(drilled)["What to do first?"]
    assert first.figure == "settle the wall to bolt hole"
    assert "respect_walls = true" in first.words[0]
    assert any(w.startswith("Grooves: ") for w in first.words)


def test_a_wall_that_is_enough_lets_the_plan_begin(told, drilled):
    hole = replace(drilled.job.hazards[0], min_wall_mm=1.0)
    asked = replace(drilled, job=replace(drilled.job, hazards=(hole,)))
    answers = told(asked)
    assert answers["How thin do the walls get?"].figure == "3.0 mm left to bolt hole: enough"
    assert answers["What to do first?"].figure == "grooves: roof, ball 10"


def test_what_may_be_opened_is_no_alarm(told, drilled):
    hole = replace(drilled.job.hazards[0], start_mm=np.array([0.0, 50.0, 22.0]), open_allowed=True)
    asked = replace(drilled, job=replace(drilled.job, hazards=(hole,)))
    answers = told(asked)
    assert answers["How thin do the walls get?"].figure == "open to bolt hole: may be opened"
    assert answers["What to do first?"].figure == "grooves: roof, ball 10"


def test_nothing_named_behind_the_walls_is_no_all_clear(told, boss):
    answers = told(boss)
    walls = answers["How thin do the walls get?"]
    assert walls.figure == "not known"
    assert "not the same as nothing being there" in walls.words[0]
    assert answers["What to do first?"].words[0] == "Before any metal comes off, find out what lies behind the walls."


def test_passes_that_leave_the_metal_standing_are_told(told, drilled):
    # a pass on the left wall alone, where nothing is to come off
    one = replace(drilled.job.passes[2], side="left")
    asked = replace(drilled, job=replace(drilled.job, passes=(one,), hazards=()))
    assert told(asked)["What to do first?"].figure == "plan a pass"


def test_many_necks_are_told_as_the_largest_and_a_count(ask, boss):
    # a diameter that goes in and out: 5 necks, each deeper than the one before
    diameter = [40.0, 38.5, 40.0, 38.0, 40.0, 37.5, 40.0, 37.0, 40.0, 36.5, 40.0]
    taper = ask(np.arange(11) * 20.0, [circle(d) for d in diameter]).profile.taper
    words = rough_words(boss.job, taper, bench_scale(boss.answers[0].stage.surface), Shown("mm"))
    sizes = [100.0 * (1.0 - d**2 / 40.0**2) for d in (36.5, 37.0, 37.5)]
    assert [w.split(" at ")[0] for w in words[:3]] == [f"Neck of {size:.1f} percent" for size in sizes]
    assert words[3] == "2 more necks over 1 percent."
