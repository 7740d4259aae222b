"""Words and numbers of reach, on results made by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.values import Cutter
from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.reach_doc import cause_words, method_words, reach_json, reach_text
from portgeom.output.words.shown import Shown
from portgeom.questions.reach.corners import TightCorner
from portgeom.questions.reach.patches import Patch
from portgeom.questions.reach.reach import CutterReach, Hindrance, Left, Reach, SideReach, Stopped

MM = Shown("mm")
NAN = float("nan")


@pytest.fixture(scope="module")
def port(lofted):
    return lofted([0.0, 100.0], [circle(40.0)] * 2)


@pytest.fixture
def result() -> Reach:
    entry = SideReach(
        "entry",
        7460.0,
        0.746,
        0.021,
        91.26,
        80.04,
        (Stopped("wall", 2500.0), Stopped("lip", 40.0)),
        np.ones(1),
    )
    seat = SideReach("seat", 0.0, 0.0, 0.0, NAN, NAN, (Stopped("lip", 10_000.0),), np.zeros(1))
    patch = Patch(61.0, 88.0, 182.0, False, 2500.0, Hindrance("guide", "entry"))
    left = Left(2540.0, 0.254, (patch,))
    cutter = Cutter("ball 10", "ball", 10.0, 9.0, 6.0, 90.0, vibration_m_s2=5.0)
    corner = TightCorner(10.0, 30.5, 3.2, 12.0, 45.0)
    one = CutterReach(cutter, entry, seat, 0.746, 91.26, left, (corner,))
    places = SimpleNamespace(count=321)
    return Reach(10_000.0, places, 97, 0.5, 0.5, 0.4, (one,), left)


def text(port, result: Reach, shown: Shown = MM) -> str:
    return reach_text(port, port.cast, result, shown, target='target "wider"')


def test_the_table_gives_each_cutter_its_shares_and_stick_out(port, result) -> None:
    row = next(line for line in text(port, result).splitlines() if line.startswith("  ball 10  "))
    assert row.split()[2:] == ["74", "0", "74", "91.3", "90.0"]


def test_what_is_left_in_patches_too_small_to_name_is_told_as_that(port, result) -> None:
    told = text(port, replace(result, none=replace(result.none, patches=())))
    assert "reaches 2.5 cc, 25 percent, here and there in patches too small to name." in told
    assert "percent:\n\n" not in told


def test_a_patch_at_one_place_is_not_told_from_there_to_there(port, result) -> None:
    patch = replace(result.none.patches[0], from_mm=61.0, to_mm=61.001)
    told = text(port, replace(result, none=replace(result.none, patches=(patch,)))).split("No cutter of the job")[1]
    assert "2.5 cc at 61.0" in told
    assert "from 61.0" not in told


def test_reached_and_not_reached_are_not_the_same_kind_of_claim(result) -> None:
    words = method_words(result, MM)
    assert "Reached is proven by a clear line" in words
    assert "none of 97 straight lines to the place is clear, so another may be" in words
    assert "321 places" in words


def test_the_share_comes_with_what_it_may_be_off(port, result) -> None:
    assert "from the face 74 percent, give or take 3;" in text(port, result)


def test_stick_out_beyond_the_tools_is_said(port, result) -> None:
    assert "up to 91.3 mm of stick-out, 95 percent of that metal 80.0 mm, and the tool has 90.0 mm" in text(
        port, result
    )


def test_a_side_with_no_line_says_so(port, result) -> None:
    words = text(port, result)
    assert "from the seat 0 percent; no line is clear" in words
    assert "10.0 cc not: the shank rubs the seat" in words


def test_metal_that_prints_as_nothing_is_left_out(port, result) -> None:
    assert "the lip of the face" not in text(port, result)  # 40 mm3 of it


def test_what_is_left_has_a_place_for_the_bench(port, result) -> None:
    assert (
        "neither side reaches 2.5 cc from 61.0 mm (61.0 square from the face, 61.0 along the roof) to 88.0 mm "
        "(88.0 square from the face, 88.0 along the roof), 6 o'clock, floor: the guide's boss covers it or is in "
        "the way"
    ) in text(port, result)


def test_a_tight_corner_names_both_radii_and_its_range(port, result) -> None:
    assert "corner radius smaller than the cutter's 5.0 mm from 10.0 mm to 30.5 mm: 3.2 mm at 12.0 mm" in text(
        port, result
    )


def test_vibration_is_a_caution_that_defers_and_warns_of_declared_values(port, result) -> None:
    words = text(port, result)
    assert "vibration 5 m/s2 as declared: action value after 120 min, limit value after 480 min" in words
    assert "a caution only, your own rules decide" in words
    assert "Directive 2002/44/EC" in words
    assert "ISO 5349-1" in words
    assert "often understate" in words


def test_without_declared_vibration_nothing_is_said_of_it(port, result) -> None:
    (one,) = result.cutters
    silent = replace(result, cutters=(replace(one, cutter=replace(one.cutter, vibration_m_s2=None)),))
    assert "ibration" not in text(port, silent)


def test_all_reached_is_one_line(port, result) -> None:
    (one,) = result.cutters
    nothing = Left(0.0, 0.0, ())
    every = replace(result, none=nothing, cutters=(replace(one, neither=nothing, corners=()),))
    assert "Every place is reached by one cutter or another." in text(port, every)


def test_nothing_to_cut_is_one_line(port, result) -> None:
    assert text(port, replace(result, volume_mm3=0.0)) == 'Port 1, as cast to target "wider": nothing is to come off.'


def test_ninety_nine_and_a_bit_is_not_called_everything(port, result) -> None:
    (one,) = result.cutters
    nearly = replace(result, cutters=(replace(one, either_share=0.9996),))
    assert next(line for line in text(port, nearly).splitlines() if line.startswith("  ball 10  ")).split()[4] == "99"


def test_the_lip_has_another_name_on_either_side() -> None:
    assert cause_words(Hindrance("lip", "entry")) == "the shank rubs the lip of the face"
    assert cause_words(Hindrance("lip", "seat")) == "the shank rubs the seat"


def test_inches_are_shown_throughout(port, result) -> None:
    words = text(port, result, Shown("in"))
    assert " mm" not in words
    assert "3.593 in of stick-out" in words


def test_the_document_holds_the_same_numbers(result) -> None:
    entry = reach_json(result, Numbers("mm"))
    (one,) = entry["cutters"]
    assert (one["entry"]["share"], one["entry"]["share_error"]) == (0.746, 0.021)
    assert one["seat"]["stick_out"] is None
    assert one["neither"]["patches"] == [
        {"from": 61.0, "to": 88.0, "clock": 182.0, "volume_cc": 2.5, "cause": "guide", "side": "entry"}
    ]
    assert one["tight_corners"] == [{"from": 10.0, "to": 30.5, "radius": 3.2, "distance": 12.0, "clock": 45.0}]
    assert one["vibration"] == {"declared": 5.0, "minutes_to_action": 120.0, "minutes_to_limit": 480.0}
    assert entry["none"]["volume_cc"] == 2.54
    assert reach_json(result, Numbers("in"))["cutters"][0]["reach"] == pytest.approx(90.0 / 25.4, abs=1e-6)
