"""What flow reads like: named places first, 80 columns, every part with its limits, what is missing in one line."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from portgeom.job.flow_values import Stated
from portgeom.output.words.flow_doc import flow_text, limits_text, overlap_words, percent_span, side_by_side_text
from portgeom.output.words.flow_shown import FlowShown, air_words, flow_shown
from portgeom.output.words.shown import Shown
from portgeom.questions.flow.air import air_of, moist_air
from portgeom.questions.flow.side_by_side import side_by_side
from portgeom.questions.flow.whole import all_states, flow_answers, flow_state

MM = Shown("mm")


@pytest.fixture(scope="module")
def states(pair):
    ports = [a.port for a in pair.answers]
    return all_states(pair.job, ports)


@pytest.fixture(scope="module")
def told(pair, states):
    def words(units="mm", state=1, **job):
        made = replace(pair.job, **job)
        one = states[state]
        answer = flow_answers(made, flow_state(made, one.port, one.stage))
        return flow_text(made, answer, flow_shown(Shown(units), [answer.state], None))

    return words


def test_named_places_come_first_in_the_order_of_the_port(told):
    lines = told().splitlines()
    assert lines[0] == "Port 2, as cast: flow"
    assert [line.split()[0] for line in lines[2:7]] == ["face", "pinch", "turn", "bowl", "throat"]
    assert "88 to 105: within" in lines[3]
    assert "Ranges: common practice." in " ".join(" ".join(lines[7:9]).split())


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("state", [0, 1])
def test_nothing_is_wider_than_80_columns(told, units, state):
    wide = [line for line in told(units, state).splitlines() if len(line) > 80]
    assert wide == []


def test_every_part_is_there_in_order(told):
    text = told()
    titles = [
        "Speed along the port",
        "Valve",
        "Bench readings",
        "Demand of one cylinder",
        "A larger valve",
        "Where total pressure is lost, largest first",
        "From station to station, the largest",
    ]
    places = [text.index(f"\n{t}\n") for t in titles]
    assert places == sorted(places)
    assert "nan" not in text.lower()
    assert "None" not in text


def test_readings_carry_bench_day_radius_and_leak(told):
    text = " ".join(told().split())
    assert "Read at 28.0 inH2O, bench no. 1, 2026-02-11, entry radius 12.0 mm, leak of 1.5 cfm taken off." in text


def test_what_a_reading_does_not_say_is_asked_for(told, pair):
    bare = tuple(replace(r, bench="", leak=None, entry_radius_mm=None, exhaust_pipe="") for r in pair.job.flow)
    assert "Not noted: bench, leak, entry_radius." in " ".join(told(flow=bare).split())


def test_a_lift_beyond_a_quarter_has_a_star_and_its_reason(told):
    text = told()
    assert "14.0*" in text
    assert "beyond a quarter of the head's diameter" in " ".join(text.split())
    assert "12.0*" not in text


def test_what_is_missing_is_one_line_each(told):
    text = " ".join(told(valves=(), flow=(), engine=None).split())
    assert 'Add a [[valve]] with kind = "intake"' in text
    assert 'Add [[flow]] with port = "2", stage = "as cast"' in text
    assert "Add [engine] with bore, stroke and rpm" in text
    for absent in ("Bench readings", "Demand of one cylinder", "Opening"):
        assert absent not in text
    assert "No bench reads as much." in text
    assert "To have more" not in told()


def test_an_assumed_stem_says_so(pair, states):
    port = states[1].port
    bare = replace(port, port=replace(port.port, guide=None))
    answer = flow_answers(pair.job, flow_state(pair.job, bare, states[1].stage))
    text = " ".join(flow_text(pair.job, answer, flow_shown(MM, [answer.state], None)).split())
    assert "The stem is taken to stand on the throat's own axis: give [port.guide]" in text
    assert "net is less stem." in text


def test_side_by_side_holds_siblings_and_their_readings(pair, states):
    beside = side_by_side(states, states[0].along.basis.depression.amount)
    text = side_by_side_text(beside, flow_shown(MM, states, None), states[0])
    assert text.startswith("Side by side at 28.0 inH2O")
    assert "smallest area -4.3 percent" in " ".join(text.split())
    assert "lift 10.0 -4.1 percent" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80
    alone = side_by_side(states[:1], 7000.0)
    assert side_by_side_text(alone, flow_shown(MM, states, None), states[0]) == ""


def test_the_limits_say_that_it_predicts_nothing():
    assert "ranks places and compares states; it does not predict a bench" in limits_text()


def test_units_are_those_that_were_written(states):
    fs = flow_shown(MM, states, None)
    assert (fs.pressure_unit, fs.flow_unit, fs.speed_unit) == ("inH2O", "cfm", "m/s")
    assert flow_shown(MM, states, Stated(0.1, "volume flow", "l/s")).flow_unit == "l/s"
    assert flow_shown(Shown("in"), states, None).speed_unit == "ft/s"


def test_a_flow_by_mass_is_shown_by_mass():
    air = moist_air(293.15, 101_325.0, 0.0)
    # 0.1 m3/s of 1.2041 kg/m3 air is 433 kg/h
    assert FlowShown(MM, "kPa", "kg/h").flow(0.1, air) == "433 kg/h"
    assert FlowShown(MM, "kPa", "l/s").flow(0.1, air) == "100.0 l/s"
    assert FlowShown(MM, "kPa", "cfm").flow_on_area(1e-4, air) == "136.7 cfm on 1 in2"
    assert FlowShown(MM, "kPa", "l/s").flow_on_area(1e-4, air) == "10.0 l/s on 1 cm2"


def test_air_that_is_stated_is_not_called_assumed():
    assert air_words(air_of(), MM).endswith("(assumed; state them in [air])")
    assert air_words(moist_air(293.15, 99_000.0, 0.4), Shown("in")) == "68.0 F, 99.0 kPa, 40 percent humid"


@pytest.mark.parametrize(("low", "high", "words"), [(0.1, 0.4, "under 1"), (0.2, 1.2, "0 to 1"), (4.0, 8.4, "4 to 8")])
def test_percentages_do_not_say_nothing_to_nothing(low, high, words):
    assert percent_span(low, high) == words


@pytest.mark.parametrize(("second_pa", "told"), [((1.0, 4.0), 0), ((1.0, 6.0), 1)])
def test_the_sign_of_an_overlap_is_explained_where_there_is_one(second_pa: tuple[float, float], told: int) -> None:
    ranked = [SimpleNamespace(low_pa=low, high_pa=high) for low, high in ((5.0, 8.0), second_pa)]
    assert len(overlap_words(SimpleNamespace(ranked=ranked))) == told
