"""The bundled job with stages: figures that a port worker would believe of a head while it is cut."""

from __future__ import annotations

from pathlib import Path

import pytest

from portgeom.job.read import read_job
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.wanted import wanted_port
from portgeom.questions.shape.removal import Removal, removal

STAGES = Path(__file__).parents[1] / "examples" / "workshop-stages"


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(STAGES)


@pytest.fixture(scope="module")
def ports(job: Job) -> dict[str, LoftedPort]:
    return {lofted.port.name: lofted for lofted in loft_job(job)}


def left_of(job: Job, port: LoftedPort, stage: str) -> Removal:
    wanted = wanted_port(port, job.targets[0], limits=job.limits)
    return removal(port, port.stage(stage), wanted, density_g_cc=job.density_g_cc)


# The figures below are common practice for such a port, without a source: what a worker would believe.


def test_nothing_was_noted_of_the_job(job: Job) -> None:
    assert job.notes == ()


def test_stages_say_what_was_cut_before_them(ports: dict[str, LoftedPort]) -> None:
    said = [(s.stage.name, s.stage.after, s.stage.minutes) for s in ports["2"].stages]
    assert said == [
        ("as cast", "", None),
        ("roughed", "level the ribs", 3.5),
        ("finished", "blend the floor corners", 22.0),
    ]


@pytest.mark.parametrize("name", ["1", "2"])
def test_a_finished_port_is_within_half_a_cc_of_its_target(job: Job, ports: dict[str, LoftedPort], name: str) -> None:
    finished = left_of(job, ports[name], "finished")
    assert finished.volume_mm3 < 500.0
    assert finished.missing_mm3 < 1000.0


def test_hand_rates_are_those_of_iron(ports: dict[str, LoftedPort]) -> None:
    for port in ports.values():
        for before, after in zip(port.stages[:-1], port.stages[1:], strict=True):
            cut_mm3 = float((after.surface.volume_mm3 - before.surface.volume_mm3).sum())
            assert after.stage.minutes is not None
            assert 0.3 < cut_mm3 / 1000.0 / after.stage.minutes < 1.2
