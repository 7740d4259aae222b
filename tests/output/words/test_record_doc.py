"""A port's record reads as before to after, and rows of nothing are left out."""

from __future__ import annotations

from portgeom.job.flow_values import FlowReading, Stated
from portgeom.job.receipt_values import Opened, Receipt
from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.record_doc import (
    flow_rows,
    lifts_left_out,
    opened_lines,
    receipt_rows,
    record_headings,
    record_json,
    record_rows,
    wall_lines,
)
from portgeom.output.words.shown import Shown
from portgeom.questions.handover.record import PlaceAreas, PortRecord, StageRecord
from portgeom.questions.shape.profile import AreaAt

MM, IN = Shown("mm"), Shown("in")
BEFORE = StageRecord("as cast", 210_500.0, 206.0, 46.0, 88.5, AreaAt(42.0, 1518.0))
AFTER = StageRecord("finished", 224_100.0, None, 46.2, 88.8, AreaAt(42.0, 1649.0))
TWICE = PortRecord(
    "1", "intake", BEFORE, AFTER, (PlaceAreas("face", 1966.0, 2017.0), PlaceAreas("turn", 1690.0, None)), ()
)
ONCE = PortRecord("2", "intake", AFTER, None, (PlaceAreas("face", 1967.0, None),), ())


def inches_of_water(amount: float) -> Stated:
    return Stated(amount * 249.0889, "pressure", "inH2O")


def cfm(amount: float) -> Stated:
    return Stated(amount * 0.3048**3 / 60.0, "volume flow", "cfm")


def reading(stage: str, lift: float, flow: float, port: str = "1") -> FlowReading:
    return FlowReading(port, stage, inches_of_water(28.0), lift, cfm(flow))


def test_before_and_after_stand_in_one_cell_and_what_is_missing_is_not_made_up() -> None:
    rows = {r[0]: r[1:] for r in record_rows([TWICE, ONCE], MM)}
    assert rows["measured"] == ["as cast to finished", "finished"]
    assert rows["poured, cc"] == ["206.0", ""]
    assert rows["by its sections, cc"] == ["210.5 to 224.1", "224.1"]
    assert rows["area at the face, mm2"] == ["1966 to 2017", "1967"]
    assert rows["area at the turn, mm2"] == ["1690", ""]
    assert rows["throat of the valve's head"] == ["88.8 percent", "88.8 percent"]
    assert record_headings([TWICE, ONCE]) == ["", "port 1", "port 2"]
    assert "poured, cc" not in [r[0] for r in record_rows([ONCE], MM)]
    assert any(r[0] == "area at the face, in2" for r in record_rows([ONCE], IN))


def test_nothing_known_of_walls_or_opened_says_nothing() -> None:
    assert wall_lines([TWICE, ONCE], MM) == []
    assert opened_lines([TWICE, ONCE], []) == []


def test_what_was_opened_is_told_with_its_seal_or_that_none_is_told() -> None:
    told = [Opened("1", "bolt hole", "sleeve", "2 bar"), Opened("2", "water"), Opened("9", "elsewhere")]
    assert opened_lines([TWICE, ONCE], told) == [
        "Port 1, bolt hole: opened, sealed: sleeve; tested: 2 bar.",
        "Port 2, water: opened, nothing is said of sealing it; no test of it is told.",
    ]


def test_flow_is_told_before_to_after_at_a_few_lifts() -> None:
    readings = [reading("as cast", lift, 20.0 * lift) for lift in (2.0, 4.0, 6.0, 8.0, 10.0)]
    readings += [reading("finished", lift, 22.0 * lift) for lift in (2.0, 6.0, 10.0)]
    rows = flow_rows(readings, [TWICE, ONCE], MM)
    assert rows == [
        ["1", "2.0", "28 inH2O", "40 cfm to 44 cfm"],
        ["1", "6.0", "28 inH2O", "120 cfm to 132 cfm"],
        ["1", "10.0", "28 inH2O", "200 cfm to 220 cfm"],
    ]
    assert lifts_left_out(readings, [TWICE, ONCE]) == ["Shown: 3 of 5 lifts of port 1; all are in the report."]
    assert lifts_left_out(readings[1:4], [TWICE, ONCE]) == []
    assert flow_rows([reading("as cast", 5.0, 100.0)], [TWICE], MM) == [["1", "5.0", "28 inH2O", "as cast 100 cfm"]]
    assert flow_rows([], [TWICE], MM) == []


def test_a_receipt_holds_flatness_against_the_user_s_limit() -> None:
    receipt = Receipt(head="7", deck_flatness_mm=0.04, face_flatness_mm=0.06, most_flatness_mm=0.05)
    rows = dict(receipt_rows(receipt, "grey iron", MM))
    assert rows["deck"] == "out by 0.04 mm, within your limit of 0.05 mm"
    assert rows["manifold face"] == "out by 0.06 mm, more than your limit of 0.05 mm"
    assert rows["pressure test"] == ""
    assert dict(receipt_rows(Receipt(deck_flatness_mm=0.0508), "x", IN))["deck"] == "out by 0.0020 in"


def test_the_document_has_null_for_what_was_not_measured() -> None:
    entry = record_json(ONCE, Numbers("mm"))
    assert entry["after"] is None
    assert entry["before"]["poured_cc"] is None
    assert record_json(TWICE, Numbers("mm"))["places"][1] == {"place": "turn", "before": 1690.0, "after": None}
