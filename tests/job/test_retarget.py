"""A job's text with other targets: every other line and comment stays."""

from __future__ import annotations

import tomllib

from portgeom.job.retarget import with_targets

TEXT = """\
title = "t"  # a title

[[port]]
name = "1"
target   = "street"   # as before, "street"
  [[port.stage]]
  name = "as cast"

[[port]]  # no target yet
name = "2"

[[target]]
name = "street"
"""


def test_a_port_is_held_against_another_target_and_comments_stay() -> None:
    after = with_targets(TEXT, {0: '"proposed 1"', 1: '"proposed 2"'})
    ports = tomllib.loads(after)["port"]
    assert [p["target"] for p in ports] == ["proposed 1", "proposed 2"]
    assert 'target   = "proposed 1"   # as before, "street"' in after
    assert [line for line in after.split("\n") if line not in TEXT.split("\n")] == [
        'target   = "proposed 1"   # as before, "street"',
        'target = "proposed 2"',
    ]


def test_a_target_in_single_quotes_is_replaced_whole() -> None:
    text = TEXT.replace('"street"   #', "'a \"b\"'   #")
    assert tomllib.loads(with_targets(text, {0: '"c"'}))["port"][0]["target"] == "c"
