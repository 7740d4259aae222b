"""How long do 2,000 draws of a port take, how much memory, and how does that compare with a mesh for each draw?

Not run with the tests: these measure. Times are of the processor, so that another job does not count.
"""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.job.read import read_job
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Line, Port, SectionTable, Stage, StationRow, Target
from portgeom.model.lofted import loft_job
from portgeom.questions.shape.solids import port_solids
from portgeom.questions.uncertainty.again import job_again
from portgeom.questions.uncertainty.campaign import DRAWS, campaign
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.draws import measuring, tool_bias
from portgeom.questions.whole import answers

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
REBUILT = 5
EVERYTHING = ("roof", "metal", "walls")


def made(stations: int, *, ports: int = 1) -> Job:
    """A job of bent ports with a boss in the roof, gauged, whose roof is to come up and its corners recut."""
    rows = []
    for k, s in enumerate(np.linspace(0.0, 120.0, stations)):
        low = 4.0 * np.exp(-(((s - 50.0) / 9.0) ** 2))
        values = {"width": 42.0 - 0.03 * s, "height": 50.0 - low, "radius": 9.0, "up": -0.5 * low}
        readings = ShapeReadings("rectangle", tuple(values), np.array(list(values.values())))
        rows.append(
            StationRow(str(k), k + 2, float(s), 0.4 * float(s), None, None, None, "", readings.outline(), readings)
        )
    target = Target("t", roof=Line(np.array([[0.0, 26.0], [60.0, 27.0], [120.0, 26.0]])))
    port = Port("1", "intake", (Stage("as cast", SectionTable("made.csv", tuple(rows))),), target="t")
    many = tuple(replace(port, name=str(k)) for k in range(ports))
    accuracy = Accuracy(pitch_deg=1.0)
    return Job(Path("."), "made", "mm", "grey iron", 7.2, many, targets=(target,), accuracy=accuracy)


def seconds(job: Job, *, times: int = 3, ports: int | None = None) -> float:
    """The least processor time of several campaigns of everything but what passes take."""
    lofted = loft_job(job)[:ports]
    taken = []
    for _ in range(times):
        start = time.process_time()
        campaign(job, lofted, parts=EVERYTHING)
        taken.append(time.process_time() - start)
    return min(taken)


@pytest.mark.parametrize("job", [made(15), read_job(EXAMPLE)], ids=["15 gauged stations", "14 traced stations"])
def test_2000_draws_take_a_second(job: Job) -> None:
    (one,) = (job.ports[-1:],)
    taken = seconds(replace(job, ports=one))
    print(f"\n{DRAWS} draws of {len(one[0].stages[0].sections.rows)} stations: {taken:.2f} s")
    assert taken <= 1.0


def test_16_ports_take_16_times_as_long() -> None:
    one, many = seconds(made(15)), seconds(made(15, ports=16), times=1)
    print(f"\n16 ports: {many:.2f} s, {many / one:.1f} times one")
    assert many <= 16.0 * 1.2 * one


def test_it_keeps_within_a_gibibyte() -> None:
    code = (
        "import resource, sys; sys.path.insert(0, sys.argv[1])\n"
        "from test_uncertainty_speed import EVERYTHING, campaign, loft_job, made\n"
        "job = made(15, ports=4)\n"
        "campaign(job, loft_job(job), parts=EVERYTHING)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    run = [sys.executable, "-c", code, str(Path(__file__).parent)]
    most = int(subprocess.run(run, capture_output=True, text=True, check=True).stdout) / 2**20
    print(f"\nmost memory, 4 ports: {most:.2f} GiB")
    assert most <= 1.0


def test_it_is_50_times_quicker_than_a_mesh_for_each_draw() -> None:
    job = made(15)
    drawn = seconds(job) / DRAWS
    ports = loft_job(job)
    bias = tool_bias(job.accuracy, draws=REBUILT, seed=SEED)
    m = measuring(ports[0], job.accuracy, bias, seed=SEED)
    start = time.process_time()
    for k in range(REBUILT):
        again = job_again(job, [m], k)
        lofted = loft_job(again, resolution=Resolution())
        found = answers(again, lofted, lofted[0], lofted[0].cast)
        for part in port_solids(lofted[0].cast, found.removal):
            assert part.solid.volume_mm3 > 0.0
    rebuilt = (time.process_time() - start) / REBUILT
    print(f"\na draw {1e3 * drawn:.2f} ms, a mesh {1e3 * rebuilt:.0f} ms: {rebuilt / drawn:.0f} times")
    assert rebuilt >= 50.0 * drawn
