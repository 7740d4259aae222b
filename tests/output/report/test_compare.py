"""What the report says of siblings, stages and poured volumes; nothing where there is nothing to say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from portgeom.job.read import read_job
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.output.report.compare import compare_section, learnt_section, poured_section, progress_section
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.compare import Comparison, compare_siblings
from portgeom.questions.compare.members import Source
from portgeom.questions.compare.progress import progress
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.uncertainty.campaign import campaign

STAGES = Path(__file__).parents[3] / "examples" / "workshop-stages"
MM = Shown("mm")


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(STAGES)


@pytest.fixture(scope="module")
def ports(job: Job) -> tuple[LoftedPort, ...]:
    return loft_job(job)


@pytest.fixture(scope="module")
def siblings(job: Job, ports: tuple[LoftedPort, ...]) -> Comparison:
    chosen = tuple((p, p.stage(None)) for p in ports)
    (found,) = compare_siblings([Source(job, ports, chosen, campaign(job, ports, draws=200, parts=()))])
    return found


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


def test_siblings_are_told_with_their_chart_their_match_and_what_was_poured(siblings: Comparison) -> None:
    html = compare_section(siblings, "compare-1", MM)
    words = words_of(html)
    assert html.count("<svg") == 1
    assert "Port 1 against port 2: holds 0.3 cc more" in words
    assert "To make them match within 0.2 mm" in words
    assert "Port 2: 220.2 cc poured, 219.4 cc by the model poured likewise" in words
    # one of the two is mirrored, so that left is not the same wall in both
    assert re.search(r"roof floor left right", words)
    for wrong in ("nan", "None", "inf "):
        assert wrong not in words


def test_one_port_has_no_sibling() -> None:
    assert compare_section(None, "compare-1", MM) == EMPTY


def test_progress_tells_stages_patches_and_the_plan(job: Job, ports: tuple[LoftedPort, ...]) -> None:
    port = ports[1]
    stage = port.stage(None)
    found = progress(job, ports, port, stage)
    words = words_of(progress_section(found, port.port, bench_scale(stage.surface), MM))
    assert "97 percent of the metal is off" in words
    assert "roughed level the ribs 1.7 3.5 0.48" in words
    assert "Cut too far: more than 0.20 mm past the line and past the casting" in words
    assert "3 o'clock, pushrod wall" in words.replace("&#x27;", "'")
    assert "Roughed, against the plan made for the casting: planned 2.1 cc" in words


def test_the_hands_are_told_what_the_stages_say_of_them(job: Job, ports: tuple[LoftedPort, ...]) -> None:
    found = [progress(job, ports, p, p.stage(None)) for p in ports]
    words = words_of(learnt_section(found, MM)).replace("&quot;", '"')
    assert "Levelling ends 0.53 mm below the groove bottoms, where the plan has 0.39 mm" in words
    assert 'set leave = 0.94 in the pass "depth grooves"' in words
    assert '"oval 16": 0.60 cc a minute' in words
    assert learnt_section([], MM) == EMPTY


def test_the_casting_has_no_progress(job: Job, ports: tuple[LoftedPort, ...]) -> None:
    port = ports[1]
    found = progress(job, ports, port, port.cast)
    scale = bench_scale(port.cast.surface)
    assert progress_section(found, port.port, scale, MM) == EMPTY
    assert progress_section(None, port.port, scale, MM) == EMPTY


def test_nothing_poured_is_nothing_said() -> None:
    assert poured_section("port 1", None, MM) == EMPTY
