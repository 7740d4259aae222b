"""The first screen answers in plain words, signs never as signs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portgeom.geometry.shapes import circle
from portgeom.job.values import Hazard
from portgeom.output.first_words import first_answers, rough_words
from portgeom.output.shown import Shown
from portgeom.questions.places import bench_scale


def told(asked, units="mm"):
    return {a.question: a for a in first_answers(asked.job, asked.answers[0], Shown(units))}


def test_a_boss_is_where_the_roof_hangs_and_what_to_do_first(boss):
    answers = told(boss)
    roof = answers["Where does the roof hang?"]
    assert roof.figure == "6.0 mm above the line: metal to take off"
    assert roof.words[0].startswith("At 50.0 mm (50.0 square from the face, ")
    assert "along the roof)" in roof.words[0]
    assert answers["What to do first?"].figure.startswith("level bulge 1, from ")


def test_metal_is_told_in_cc_and_grams_by_side_and_place(boss):
    metal = told(boss)["How much metal comes off?"]
    # a spherical cap of height 6 on a base of radius 12
    volume_cc = np.pi * 6.0 * (3.0 * 12.0**2 + 6.0**2) / 6.0 / 1000.0
    assert metal.figure == f"{volume_cc:.1f} cc, {volume_cc * 7.2:.0f} g of grey iron"
    assert metal.words[0] == f"By side: roof {volume_cc:.1f} cc, left wall 0.0 cc, right wall 0.0 cc, floor 0.0 cc."
    assert metal.words[1].endswith("12 o'clock, roof.")


def test_rough_taper_says_where_and_that_it_is_smooth_then(boss):
    taper = told(boss)["Does the area taper smoothly?"]
    assert taper.figure == "not smooth"
    assert taper.words[0].startswith("Neck of ")
    assert any(w.startswith("Once the metal is off: smooth") for w in taper.words)


def test_a_guess_is_called_a_guess(plain):
    assert any("a guess, made by bridging" in w for w in told(plain)["Where does the roof hang?"].words)


def test_an_overcut_roof_is_told_in_words(past):
    answers = told(past)
    assert answers["Where does the roof hang?"].figure == "already 0.4 mm past the line"
    metal = answers["How much metal comes off?"]
    assert metal.figure == "nothing"
    assert any("already gone" in w for w in metal.words)
    assert answers["What to do first?"].figure == "measure again"


def test_what_is_behind_the_walls_is_named_and_not_judged(boss):
    hole = Hazard("bolt hole", "plane", ports=("1",))
    other = Hazard("water jacket", "plane", ports=("9",))
    job = replace(boss.job, hazards=(hole, other))
    words = told(replace(boss, job=job))["What to do first?"].words
    assert any("bolt hole" in w and "does not say how much metal is left" in w for w in words)
    assert not any("water jacket" in w for w in words)


def test_nothing_named_behind_the_walls_is_no_all_clear(boss):
    assert any("not the same as nothing being there" in w for w in told(boss)["What to do first?"].words)


def test_many_necks_are_told_as_the_largest_and_a_count(ask, boss):
    # a diameter that goes in and out: 5 necks, each deeper than the one before
    diameter = [40.0, 38.5, 40.0, 38.0, 40.0, 37.5, 40.0, 37.0, 40.0, 36.5, 40.0]
    taper = ask(np.arange(11) * 20.0, [circle(d) for d in diameter]).profile.taper
    words = rough_words(boss.job, taper, bench_scale(boss.answers[0].stage.surface), Shown("mm"))
    sizes = [100.0 * (1.0 - d**2 / 40.0**2) for d in (36.5, 37.0, 37.5)]
    assert [w.split(" at ")[0] for w in words[:3]] == [f"Neck of {size:.1f} percent" for size in sizes]
    assert words[3] == "2 more necks over 1 percent."
