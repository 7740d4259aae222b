"""A stage is put in at the end of its port's stages, and every other byte of the file stays."""

from __future__ import annotations

import difflib
import tomllib

import pytest

from portgeom.job.faults import JobError
from portgeom.job.record_text import NewStage, with_stage

NEW = NewStage("finished", "new.csv")

HEAD = """\
# the head, \N{WRENCH} measured in two evenings
title = "Two ports" # a title
units = "mm"
material = "grey iron"

[[port]]
name = "1"
kind = "intake"
  # as it came
  [[port.stage]]
  name     = "as cast"
  sections = "cast-1.csv" # by gauge

# the neighbour
[[port]]
name = "2"
kind = "intake"
[port.walls]
left = "common wall"
[[port.stage]]
name = "as cast"
sections = "cast-2.csv"
[[port.stage]]
name = "roughed"
sections = "rough-2.csv"
pour.valve_in = true
# the end of it

[limits]
bulge = 0.6
"""


def put(text: str, port: str, stage: NewStage = NEW) -> list[str]:
    """Return the lines that were put in, after seeing that no other line was touched."""
    made = with_stage(text, "job.toml", port, stage)
    steps = list(difflib.ndiff(text.splitlines(keepends=True), made.splitlines(keepends=True)))
    assert not [s for s in steps if s.startswith("- ")], "".join(steps)
    return [s[2:].rstrip("\r\n") for s in steps if s.startswith("+ ")]


def stages(text: str, port: int) -> list[str]:
    found = tomllib.loads(text.removeprefix("\ufeff"))["port"][port]["stage"]
    return [s["name"] for s in found]


def test_it_is_spaced_and_indented_like_the_stage_before() -> None:
    added = put(HEAD, "1")
    assert [line for line in added if line] == [
        "  [[port.stage]]",
        '  name     = "finished"',
        '  sections = "new.csv"',
    ]


@pytest.mark.parametrize(("port", "number"), [("1", 0), ("2", 1)])
def test_it_comes_last_in_its_own_port_and_no_other(port: str, number: int) -> None:
    made = with_stage(HEAD, "job.toml", port, NEW)
    before = [stages(HEAD, k) for k in (0, 1)]
    before[number].append("finished")
    assert [stages(made, k) for k in (0, 1)] == before


def test_a_comment_before_the_next_header_stays_with_it() -> None:
    made = with_stage(HEAD, "job.toml", "1", NEW)
    assert "# the neighbour\n[[port]]\n" in made
    made = with_stage(HEAD, "job.toml", "2", NEW)
    assert "# the end of it\n\n[[port.stage]]" in made


def test_everything_said_is_written_and_read_again() -> None:
    stage = NewStage(
        'said "so" \\ \N{WRENCH}',
        "a b.csv",
        221.25,
        valve_in=True,
        plate_recess_cc=1.5,
        to_seat=2.6,
        after="level",
        minutes=12.0,
    )
    made = tomllib.loads(with_stage(HEAD, "job.toml", "2", stage))["port"][1]["stage"][-1]
    assert made == {
        "name": 'said "so" \\ \N{WRENCH}',
        "sections": "a b.csv",
        "poured_cc": 221.25,
        "pour": {"valve_in": True, "plate_recess_cc": 1.5, "to_seat": 2.6},
        "after": "level",
        "minutes": 12.0,
    }


AWKWARD = {
    "no newline at the end": HEAD.split("[limits]")[0].rstrip(),
    "ends in its stage": 'title="t"\n[[port]]\nname="2"\n[[port.stage]]\nname="as cast"\nsections="c.csv"\n',
    "windows lines": HEAD.replace("\n", "\r\n"),
    "byte order mark": "\ufeff" + HEAD,
    "header spelled out": HEAD.replace("[[port.stage]]", '[[ port . "stage" ]]'),
    "headers inside text": HEAD.replace('sections = "rough-2.csv"', 'sections = """\\\nrough-2.csv"""').replace(
        'title = "Two ports"', "title = '''\n[[port]]\n[[port.stage]]\n'''"
    ),
    "rows of numbers": HEAD.replace(
        "bulge = 0.6", "bulge = 0.6\n[[target]]\nname = 't'\nroof_line = [\n  [0, 1],\n  [2, 3],\n]"
    ),
    "stages before walls": HEAD.replace('[port.walls]\nleft = "common wall"\n', "").replace(
        "# the end of it\n", "  [port.walls]\n  left = 'x'\n"
    ),
    "table within the stage": HEAD.replace("pour.valve_in = true", "[port.stage.pour]\nvalve_in = true"),
    "a table of the same name opened later": HEAD + "\n[[hazard]]\nname = 'h'\n[port_notes]\nx = 1\n",
}


@pytest.mark.parametrize("text", AWKWARD.values(), ids=AWKWARD.keys())
def test_files_laid_out_in_other_ways_are_added_to(text: str) -> None:
    made = with_stage(text, "job.toml", "2", NEW)
    plain = made.replace("\r\n", "\n")
    port = len(tomllib.loads(plain.removeprefix("\ufeff"))["port"]) - 1
    assert stages(plain, port)[-1] == "finished"
    assert ("\r\n" in text) == ("\r\n" in made)
    assert "\r" not in plain
    # every line there was is there still, in its order
    rest = iter(plain.split("\n"))
    assert all(line in rest for line in text.replace("\r\n", "\n").rstrip("\n").split("\n"))


@pytest.mark.parametrize(
    ("text", "port", "stage", "words"),
    [
        (HEAD, "3", NEW, '"3": is not a port of this job; known are 1, 2'),
        (HEAD, "2", NewStage("Roughed", "new.csv"), '"Roughed": is there already'),
        (HEAD, "2", NewStage("finished", "rough-2.csv"), 'would have the same table as "roughed"'),
        (
            'title="t"\n[[port]]\nname="2"\nstage=[{name="as cast",sections="c.csv"}]\n',
            "2",
            NEW,
            "write each stage as a table of its own",
        ),
        ('port=[{name="2",stage=[{name="as cast",sections="c.csv"}]}]\n', "2", NEW, "write each stage as a table"),
    ],
    ids=["no such port", "name taken", "table taken", "stages in one line", "ports in one line"],
)
def test_what_cannot_be_added_is_told(text: str, port: str, stage: NewStage, words: str) -> None:
    with pytest.raises(JobError) as caught:
        with_stage(text, "job.toml", port, stage)
    assert words in str(caught.value)
