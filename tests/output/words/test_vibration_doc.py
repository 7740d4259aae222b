"""Words and numbers of a day's vibration."""

from __future__ import annotations

from portgeom.output.words.vibration_doc import (
    cutter_vibration_json,
    cutter_vibration_words,
    exposure_json,
    exposure_words,
)
from portgeom.questions.cutting.vibration import ToolUse, exposure


def test_a_days_exposure_names_the_values_it_is_held_against() -> None:
    low = exposure_words(exposure([ToolUse("ball 10", 4.0, 60.0)]))
    assert "ball 10 60 min at 4 m/s2" in low
    assert "A(8) 1.4 m/s2, below the action value of 2.5." in low
    assert "at or over the action value of 2.5" in exposure_words(exposure([ToolUse("burr", 5.0, 200.0)]))
    assert "over the limit value of 5: not in one day" in exposure_words(exposure([ToolUse("burr", 9.0, 400.0)]))


def test_the_caution_always_follows() -> None:
    assert "your own rules decide" in exposure_words(exposure([]))


def test_a_value_not_reached_within_a_day_has_no_minutes() -> None:
    # 480 (2.5 / 1)^2 = 3000 minutes: more than a day has
    assert cutter_vibration_words(1.0).endswith("action value not within a day, limit value not within a day")
    assert cutter_vibration_json(0.0) == {
        "declared": 0.0,
        "minutes_to_action": None,
        "minutes_to_limit": None,
    }
    assert cutter_vibration_json(None) is None


def test_the_document_has_the_sum_and_its_parts() -> None:
    assert exposure_json(exposure([ToolUse("burr", 5.0, 120.0)])) == {
        "a8": 2.5,
        "minutes": 120.0,
        "verdict": "action value reached",
        "tools": [{"cutter": "burr", "vibration": 5.0, "minutes": 120.0}],
    }
