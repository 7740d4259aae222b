"""How quick is a whole port, how does its cost grow, and how does it compare with a general solid kernel?

Not run with the tests: these measure. Times are of the processor, so that another job does not count.
"""

from __future__ import annotations

import math
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Job, Line, Port, SectionTable, Stage, StationRow, Target
from portgeom.model.lofted import loft_job
from portgeom.questions.shape.removal import removal
from portgeom.questions.whole import answers, wanted_of

EXAMPLE = FilePath(__file__).parents[2] / "examples" / "workshop-pair"
SECTIONS, POINTS = 14, 64


def made(stations: int, *, ports: int = 1, points: int | None = None) -> Job:
    """Return a job of bent ports whose roof is to come up by up to 6 mm, corners recut."""
    s = np.linspace(0.0, 120.0, stations)
    rows = []
    for k, at in enumerate(s):
        outline = rectangle(42.0 - 0.03 * at, 50.0, CornerRadii(12.0, 12.0, 8.0, 8.0))
        if points is not None:
            turn = np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
            outline = Outline.polygon(np.column_stack([21.0 * np.cos(turn), 25.0 * np.sin(turn)]))
        rows.append(StationRow(str(k), k + 2, float(at), 0.6 * float(at), 0.0, 0.0, None, "", outline))
    table = SectionTable("made.csv", tuple(rows))
    line = Line(np.array([[0.0, 26.0], [60.0, 31.0], [120.0, 26.0]]))
    target = Target("t", roof=line, corner_radius=None if points else Line(np.array([[0.0, 9.5]])))
    port = Port("1", "intake", (Stage("as cast", table),), target="t")
    many = tuple(replace(port, name=str(k)) for k in range(ports))
    return Job(FilePath("."), "made", "mm", "grey iron", 7.2, many, targets=(target,))


def whole(job: Job) -> None:
    """Loft every port and ask profile, roof and removal of it."""
    ports = loft_job(job)
    for port in ports:
        answers(job, ports, port, port.cast)


def seconds(work: Callable[[], Any], *, times: int = 5) -> float:
    """Return the least processor time of several runs."""
    work()
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def test_a_port_of_15_stations_takes_a_quarter_second(benchmark: Any) -> None:
    job = made(15)
    benchmark.pedantic(whole, args=(job,), rounds=7, warmup_rounds=1)
    taken = seconds(lambda: whole(job))
    print(f"\nloft, profile, roof and removal of 15 stations: {taken:.3f} s")
    assert taken <= 0.25


@pytest.mark.parametrize(
    ("what", "small", "large", "ratio"),
    [
        ("ports", made(15), made(15, ports=4), 4.0),
        ("stations", made(15), made(60), 4.0),
        ("points", made(15, points=240), made(15, points=960), 4.0),
    ],
    ids=["ports", "stations", "points"],
)
def test_cost_grows_no_faster_than_what_it_is_made_of(what: str, small: Job, large: Job, ratio: float) -> None:
    few, many = seconds(lambda: whole(small)), seconds(lambda: whole(large), times=3)
    print(f"\n{ratio:g} times the {what}: {many / few:.2f} times the cost ({few:.3f} s, {many:.3f} s)")
    assert many / few <= 1.3 * ratio


@pytest.mark.parametrize(("arguments", "limit"), [(["--help"], 0.5), (["profile", str(EXAMPLE), "--draws", "0"], 0.3)])
def test_a_whole_process_answers_at_once(arguments: list[str], limit: float) -> None:
    command = [sys.executable, "-c", "from portgeom_cli.main import main; main()", *arguments]
    taken = []
    for _ in range(9):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        taken.append(time.perf_counter() - start)
    print(f"\nportgeom {arguments[0]}: {min(taken):.3f} s at best, {sorted(taken)[4]:.3f} s in the middle")
    assert min(taken) <= limit


def test_against_a_general_solid_kernel_in_the_same_run() -> None:
    """Two faceted lofts of 14 sections by 64 points, their volumes, and their difference."""
    pytest.importorskip("OCP")
    job = made(SECTIONS)
    coarse = Resolution(slab_mm=20.0, rays=POINTS)
    port = loft_job(job, resolution=coarse)[0]
    wanted = wanted_of(job, [port], port)
    chart = port.chart
    slabs = chart.knot_slab
    rho = np.maximum(port.cast.surface.rho_mm, wanted.rho_mm)
    rings = [chart.planes.world_mm(chart.tips_mm(r))[slabs] for r in (port.cast.surface.rho_mm, rho)]

    def ours() -> float:
        lofted = loft_job(job, resolution=coarse)[0]
        return removal(lofted, lofted.cast, wanted_of(job, [lofted], lofted), density_g_cc=7.2).volume_mm3

    start = time.process_time()
    cast, after = (_kernel_loft(ring) for ring in rings)
    volumes = [_kernel_volume(cast), _kernel_volume(after)]
    lofts = time.process_time() - start
    between = _kernel_volume(_kernel_cut(after, cast))
    kernel = time.process_time() - start
    taken = seconds(ours)
    print(
        f"\nsolid kernel: lofts and volumes {lofts:.2f} s, with the difference {kernel:.2f} s; here {taken:.4f} s: "
        f"{kernel / taken:.0f} times faster"
    )
    assert between == pytest.approx(volumes[1] - volumes[0], rel=1e-3)
    assert ours() == pytest.approx(between, rel=0.03)  # facets of 64 points against the sections themselves
    assert kernel / taken >= 100.0


def _kernel_loft(rings: Any) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon
    from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
    from OCP.gp import gp_Pnt

    through = BRepOffsetAPI_ThruSections(True, True)
    for ring in rings:
        polygon = BRepBuilderAPI_MakePolygon()
        for x, y, z in ring:
            polygon.Add(gp_Pnt(float(x), float(y), float(z)))
        polygon.Close()
        through.AddWire(polygon.Wire())
    through.Build()
    return through.Shape()


def _kernel_volume(shape: Any) -> float:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return abs(float(properties.Mass()))


def _kernel_cut(first: Any, second: Any) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    return BRepAlgoAPI_Cut(first, second).Shape()
