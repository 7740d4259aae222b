"""How long reach takes for a whole port.

Run by hand: ``pytest -o addopts=--import-mode=importlib tests/bench/test_reach_speed.py -s``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import perf_counter, process_time

from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job
from portgeom.questions.reach.reach import reach
from portgeom.questions.shape.removal import removal
from portgeom.questions.whole import wanted_of

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"


def least_seconds(call: Callable[[], object], clock: Callable[[], float], times: int = 4) -> float:
    spent = []
    for _ in range(times):
        start = clock()
        call()
        spent.append(clock() - start)
    return min(spent)


def test_a_whole_port_with_all_its_cutters_takes_less_than_half_a_second_of_compute() -> None:
    job = read_job(EXAMPLE)
    ports = loft_job(job)
    port = ports[1]
    stage = port.stage(None)
    removed = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
    asked = reach(port, stage, removed, job.cutters)
    for name, clock in (("compute, all cores together", process_time), ("on the clock", perf_counter)):
        spent = least_seconds(lambda: reach(port, stage, removed, job.cutters), clock)
        print(f"\n{asked.places.count} places, {len(job.cutters)} cutters, two sides: {spent:.2f} s {name}")
        if clock is process_time:
            assert spent < 0.5


def test_the_time_grows_no_faster_than_the_cutters() -> None:
    job = read_job(EXAMPLE)
    ports = loft_job(job)
    port = ports[1]
    stage = port.stage(None)
    removed = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
    one, three = (
        least_seconds(lambda n=n: reach(port, stage, removed, job.cutters[:1] * n), process_time) for n in (1, 3)
    )
    print(f"\none cutter {one:.2f} s, the same three times {three:.2f} s")
    assert three < 3.0 * one
