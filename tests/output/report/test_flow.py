"""What the report says of flow: the tables of the answer, its limits, and nothing where the job says nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from portgeom.output.report.flow import FEW_PAIRS, beside_section, flow_section
from portgeom.output.words.flow_shown import flow_shown
from portgeom.output.words.flow_words import LIMITS, pair_words, pairs_table
from portgeom.output.words.markup import EMPTY, Html, text
from portgeom.output.words.shown import Shown
from portgeom.questions.flow.side_by_side import side_by_side
from portgeom.questions.flow.whole import all_states, flow_answers
from portgeom.questions.whole_job import flow_beside_if_told, flow_if_told

MM = Shown("mm")
CHART = Html("<svg></svg>")


@pytest.fixture(scope="module")
def states(pair):
    return all_states(pair.job, [a.port for a in pair.answers])


@pytest.fixture(scope="module")
def answer(pair, states):
    return flow_answers(pair.job, states[1])


def test_it_holds_every_part_and_the_chart(pair, answer):
    html = flow_section(pair.job, answer, CHART, MM)
    for part in ("Named places", "Speed at every station", "Opening against lift", "Bench readings", "Mach index"):
        assert part in html
    assert CHART in html
    assert "Causes, the largest first" in html
    assert "88 to 105: within" in html
    assert "does not predict a bench" in html


def test_what_the_job_lacks_leaves_its_part_out(pair, states):
    bare = replace(pair.job, valves=(), flow=(), engine=None)
    state = replace(states[1], points=(), valve=None)
    html = flow_section(bare, flow_answers(bare, state), EMPTY, MM)
    for part in ("Opening against lift", "Bench readings", "ask for"):
        assert part not in html
    assert "Add [engine] with bore, stroke and rpm" in html


def test_a_job_that_says_nothing_of_flow_has_no_section(pair, plain):
    assert flow_section(pair.job, None, CHART, MM) == EMPTY
    assert beside_section(None, (), MM) == EMPTY
    job, one = plain.job, plain.answers[0]
    assert flow_if_told(job, one.port, one.stage) is None
    assert flow_beside_if_told(job, [one.port], [a.port for a in plain.answers]) is None


def test_side_by_side_comes_with_the_limits_in_plain_words(states, answer):
    html = beside_section(side_by_side(states, 7000.0), [answer], MM)
    for words in LIMITS:
        assert text(words) in html
    assert "Ports and stages at 28.1 inH2O" in html
    alone = beside_section(side_by_side(states[:1], 7000.0), [answer], MM)
    assert "Ports and stages" not in alone
    assert text(LIMITS[0]) in alone


def test_names_from_a_job_are_escaped(pair, states):
    reading = replace(states[1].points[0].reading, bench="<b>no. 1</b>")
    state = replace(states[1], points=(replace(states[1].points[0], reading=reading),))
    html = flow_section(pair.job, flow_answers(pair.job, state), EMPTY, MM)
    assert "<b>no. 1" not in html
    assert "&lt;b&gt;no. 1" in html


def test_many_differences_are_a_table_with_what_the_words_say(states, answer):
    beside = side_by_side([*states, *states, *states], 7000.0)
    assert len(beside.pairs) > FEW_PAIRS
    html = beside_section(beside, [answer], MM)
    assert "From each to the next, in percent" in html
    fs = flow_shown(MM, states, None)
    head, rows = pairs_table(beside.pairs, fs)
    assert len(rows) == len(beside.pairs)
    for pair, row in zip(beside.pairs, rows, strict=True):
        words = pair_words(pair, fs)[0]
        assert f"volume {row[2]} percent, smallest area {row[3]} percent" in words
        assert sum(cell != "-" for cell in row[4:]) == len(pair.lifts)
    assert len(head) == len(rows[0])
