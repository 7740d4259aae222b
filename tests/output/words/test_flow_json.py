"""The document of flow: the numbers of the answer, in the units asked for, and nothing that is not JSON."""

from __future__ import annotations

import json

import pytest

from portgeom.output.words.flow_json import flow_json, side_by_side_json
from portgeom.output.words.json_doc import Numbers, document
from portgeom.questions.flow.side_by_side import side_by_side
from portgeom.questions.flow.whole import all_states, flow_answers

KEYS = {
    "port", "stage", "air", "basis", "theory", "places", "stations", "fastest", "profile", "net_of", "valve",
    "readings", "demand", "heads", "losses",
}  # fmt: skip


@pytest.fixture(scope="module")
def states(pair):
    return all_states(pair.job, [a.port for a in pair.answers])


def test_an_entry_holds_what_the_answer_does(pair, states):
    answer = flow_answers(pair.job, states[1])
    entry = json.loads(document("flow", "mm", [flow_json(answer, Numbers("mm"))]))["ports"][0]
    assert set(entry) == KEYS
    assert [p["place"] for p in entry["places"]] == ["face", "pinch", "turn", "bowl", "throat"]
    assert entry["places"][1]["percent_of_net_throat"] == pytest.approx(
        100.0 * entry["places"][1]["net_area"] / entry["places"][4]["net_area"], rel=1e-4
    )
    assert entry["basis"]["kind"] == "reading"
    mass = entry["basis"]["volume_m3_s"] * entry["air"]["density_kg_m3"]
    assert mass == pytest.approx(entry["basis"]["mass_kg_s"], rel=1e-4)
    assert len(entry["readings"]) == 7
    assert entry["readings"][0]["bench"] == "no. 1"
    assert entry["readings"][0]["leak_m3_s"] == pytest.approx(1.5 * 0.3048**3 / 60.0, abs=1e-7)
    assert [h["head_diameter"] for h in entry["heads"]] == [52.0, 53.5]
    assert entry["losses"]["low_pa"] < entry["losses"]["high_pa"]
    assert sum(x["low_pa"] for x in entry["losses"]["ranked"]) == pytest.approx(entry["losses"]["low_pa"], abs=0.1)
    assert len(entry["losses"]["stretches"]) == len(entry["stations"]) - 1


def test_lengths_and_areas_are_in_the_units_asked_for_and_the_rest_in_si(pair, states):
    answer = flow_answers(pair.job, states[0])
    metric, inches = (flow_json(answer, Numbers(u)) for u in ("mm", "in"))
    assert inches["fastest"]["net_area"] * 645.16 == pytest.approx(metric["fastest"]["net_area"], rel=1e-5)
    assert inches["valve"]["openings"][0]["lift"] * 25.4 == pytest.approx(2.0, rel=1e-5)
    assert inches["fastest"]["speed_m_s"] == metric["fastest"]["speed_m_s"]
    assert inches["theory"] == metric["theory"]


def test_side_by_side_holds_states_and_pairs(states):
    beside = side_by_side_json(side_by_side(states, 6974.48948), Numbers("mm"))
    assert [(s["port"], s["stage"]) for s in beside["states"]] == [("1", "as cast"), ("2", "as cast")]
    (pair,) = beside["pairs"]
    assert [x["lift"] for x in pair["lifts"]] == [2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 13.0]
    assert json.loads(json.dumps(beside, allow_nan=False)) == beside
