"""What the report says of cutting is what the passes did, in the order to do it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from portgeom.output.report.cutting import MEASURE_AGAIN, RECORD, cutting_section, deepest_groove, order_lines
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.shown import Shown, set_depth
from portgeom.questions.cutting.passes import KeptBack
from portgeom.questions.shape.places import bench_scale

MM = Shown("mm")


def tables(html):
    """Return every table of a piece of markup as rows of cells."""
    found = []
    for table in re.findall(r"<table>(.*?)</table>", html, re.S):
        rows = re.findall(r"<tr>(.*?)</tr>", table, re.S)
        found.append([re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S) for row in rows])
    return found


@pytest.fixture(scope="module")
def cutting(drilled, cut):
    return cut(drilled)[0]


@pytest.fixture(scope="module")
def section(drilled, cutting):
    return cutting_section(drilled.answers[0], cutting, EMPTY, MM)


def test_pass_table_holds_what_the_passes_did(section, cutting):
    head, *rows = tables(section)[0]
    place = {name: k for k, name in enumerate(head)}
    assert [r[0] for r in rows] == ["1 grooves", "2 level", "3 blend"]
    for row, result in zip(rows, cutting.results, strict=True):
        assert row[place["cc"]] == MM.volume_number(result.volume_mm3)
        assert row[place["cc so far"]] == MM.volume_number(result.total_mm3)
        assert row[place["cc left"]] == MM.volume_number(result.left_mm3)
        assert row[place["smallest flow area, mm2"]] == MM.area_number(result.smallest.area_mm2)
        assert row[place["rib, mm"]] == MM.number(result.rib.height_mm)
        # cc over the cutter's 0.5 cc a minute
        assert row[place["minutes"]] == f"{result.volume_mm3 / 1000.0 / 0.5:.0f}"
        assert row[place["least wall, mm"]] == f"{MM.number(result.walls.least.least.wall_mm)} bolt hole"


def test_what_nobody_measured_is_no_column(boss, cut):
    head = tables(cutting_section(boss.answers[0], cut(boss)[0], EMPTY, MM))[0][0]
    assert "minutes" not in head
    assert not any(h.startswith("least wall") for h in head)


def test_card_holds_set_depths_rounded_down_and_where_to_stop(section, cutting):
    head, *rows = tables(section)[1]
    card = cutting.cards[0]
    assert len(rows) == len(card)
    assert head[:3] == ["mark", "square from face, mm", "along roof, mm"]
    for k, (row, mark) in enumerate(zip(rows, card, strict=True), 1):
        assert row[:3] == [str(k), MM.number(mark.square_mm), MM.number(mark.along_roof_mm)]
        told = [c for c in row[3::2] if c != "-"]
        assert told == [set_depth(r.depth_mm, "mm") for r in mark.rows]


def test_sides_across_are_words_not_signs(section):
    _, *rows = tables(section)[2]
    across = [row[3] for row in rows]
    assert not any(a.startswith("-") for a in across)
    assert all(re.fullmatch(r"0\.0|\d+\.\d (left|right)", a) for a in across)


def test_it_is_measured_again_after_levelling_and_when_all_is_done(drilled, cutting):
    scale = bench_scale(drilled.answers[0].stage.surface)
    lines = order_lines(cutting, scale, MM)
    assert [MEASURE_AGAIN in line for line in lines] == [False, True, False, False]
    assert lines[-1] == RECORD


def test_order_tells_grooves_depth_and_place_and_how_far_levelling_goes(drilled, cutting):
    grooves, level, blend, _ = order_lines(cutting, bench_scale(drilled.answers[0].stage.surface), MM)
    depth, at = deepest_groove(cutting.results[0])
    assert f"at most {set_depth(depth, 'mm')} mm deep, at {at:.1f} mm (" in grooves
    plan = cutting.results[1].plan
    assert f"{plan.overshoot_mm:.1f} mm below the groove bottoms, {plan.leave_mm:.1f} mm short of the line" in level
    assert "to the line" in blend


def test_a_pass_that_finds_metal_over_less_than_it_goes_over_tells_where(drilled, cutting):
    first = cutting.results[0]
    scale = bench_scale(drilled.answers[0].stage.surface)
    found = first.worked
    plan = replace(first.plan, from_mm=found.from_mm - 1.0, to_mm=found.to_mm + 1.0)
    told = order_lines(replace(cutting, results=(replace(first, plan=plan),)), scale, MM)[0]
    assert "only)" not in told
    plan = replace(first.plan, from_mm=found.from_mm - 9.0, to_mm=found.to_mm - 1.0)
    told = order_lines(replace(cutting, results=(replace(first, plan=plan),)), scale, MM)[0]
    assert (
        f"from {MM.number(plan.from_mm)} to {MM.length(plan.to_mm)} (metal comes off from "
        f"{MM.number(found.from_mm)} to {MM.number(plan.to_mm)} only) with"
    ) in told


def test_no_depth_of_the_card_is_deeper_than_its_stop(drilled, cutting):
    card = cutting.cards[0]
    shallow = tuple(replace(m, rows=tuple(replace(r, stop_mm=0.6 * r.depth_mm) for r in m.rows)) for m in card)
    html = cutting_section(drilled.answers[0], replace(cutting, cards=(shallow, *cutting.cards[1:])), EMPTY, MM)
    _, *rows = tables(html)[1]
    told = [c for row in rows for c in row[3:] if c != "-"]
    assert told[::2] == told[1::2] == [set_depth(0.6 * r.depth_mm, "mm") for m in card for r in m.rows]


def test_a_pass_with_nothing_to_take_says_so(drilled, cutting):
    idle = replace(cutting.results[0], volume_mm3=0.0)
    lines = order_lines(
        replace(cutting, results=(idle, *cutting.results[1:])), bench_scale(drilled.answers[0].stage.surface), MM
    )
    assert lines[0] == "grooves: nothing to take off the roof here; go on."


def test_hands_are_told_what_a_day_of_it_would_be(section, cutting):
    minutes = sum(r.minutes for r in cutting.results)
    # one tool: a_hv sqrt(T / 8 h), ISO 5349-1
    daily = 10.0 * (minutes / 480.0) ** 0.5
    assert f"A(8) {daily:.1f} m/s2" in section
    assert "Directive 2002/44/EC" in section


def test_cutters_that_lack_rate_or_vibration_are_named(drilled, cutting):
    some = cutting_section(drilled.answers[0], replace(cutting, unjudged=("oval 16",)), EMPTY, MM)
    assert "Not counted, for want of a rate or a vibration in the job: oval 16." in some


def test_what_respecting_the_walls_costs_is_told(drilled, cutting):
    html = cutting_section(drilled.answers[0], replace(cutting, kept_back=KeptBack(900.0, 12.0)), EMPTY, MM)
    assert "To keep the walls 0.9 cc stays standing" in html


def test_no_rates_bring_the_trades_rates_for_orientation(boss, cut):
    html = cutting_section(boss.answers[0], cut(boss)[0], EMPTY, MM)
    assert "for orientation only" in html
    assert "A(8)" not in html


def test_nothing_to_come_off_says_nothing(plain, cut):
    assert cutting_section(plain.answers[0], cut(plain)[0], EMPTY, MM) == EMPTY
