"""How long passes take: eight ports, three passes each with walls after every one, and against the cells.

Run by hand: ``pytest -o addopts=--import-mode=importlib tests/bench/test_passes_speed.py -s``.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi
from pathlib import Path
from time import process_time

import numpy as np

from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.job.values import CutPass, Cutter, Hazard, Job, Line, Port, SectionTable, Stage, StationRow, Target
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.wanted import Wanted, wanted_port
from portgeom.questions.cutting.passes import passes
from portgeom.questions.walls.behind import Behind, behind

BALL = Cutter("ball", "ball", 10.0, 9.0, 6.0, 120.0)
ROUND_NOSE = Cutter("round nose", "round-nose cylinder", 12.0, 25.0, 6.0, 120.0)
PASSES = (
    CutPass("grooves", "grooves", "roof", "ball"),
    CutPass("level", "level", "roof", "round nose"),
    CutPass("blend", "blend", "roof", "round nose"),
)


def section(s: float) -> Outline:
    """42 by 50 with corners of radius 10, and a boss of radius 12 and height 5 in its roof at 45."""
    corner = np.linspace(0.0, 0.5 * pi, 25)
    roof = np.linspace(11.0, -11.0, 67)[1:-1]
    hangs = np.where(np.hypot(s - 45.0, roof) < 12.0, 5.0 * np.cos(pi * np.hypot(s - 45.0, roof) / 24.0) ** 2, 0.0)
    right = np.column_stack([11.0 + 10.0 * np.cos(corner), 15.0 + 10.0 * np.sin(corner)])
    top = np.concatenate([right, np.column_stack([roof, 25.0 - hangs]), right[::-1] * (-1.0, 1.0)])
    return Outline.polygon(np.concatenate([top, [(-21.0, -25.0), (21.0, -25.0)]]))


def hole(name: str, start: tuple[float, ...], end: tuple[float, ...], diameter: float) -> Hazard:
    return Hazard(name, "cylinder", start_mm=np.array(start), end_mm=np.array(end), diameter_mm=diameter)


HAZARDS = (
    hole("bolt", (0.0, 45.0, 35.0), (0.0, 45.0, 80.0), 11.0),
    hole("pushrod", (30.0, 45.0, -40.0), (28.0, 45.0, 60.0), 12.0),
    hole("spring seat", (0.0, 95.0, 40.0), (0.0, 94.0, 50.0), 34.0),
    Hazard("rail", "plane", point_mm=np.array([0.0, 0.0, 45.0]), normal=np.array([0.0, 0.0, 1.0])),
)


def made(slab_mm: float = 0.5) -> tuple[Job, LoftedPort, Wanted, tuple[Behind, ...]]:
    at = np.arange(0.0, 121.0, 5.0)
    rows = tuple(StationRow(str(k), k, s, 0.2 * s, 0.0, None, None, "", section(s)) for k, s in enumerate(at, 1))
    target = Target("street", roof=Line(np.array([(0.0, 29.0), (120.0, 31.0)])))
    stage = Stage("as cast", SectionTable("c.csv", rows))
    port = Port("1", "intake", (stage,), target="street", position_mm=np.zeros(3))
    job = Job(
        Path(),
        "t",
        "mm",
        "grey iron",
        7.2,
        (port,),
        targets=(target,),
        hazards=HAZARDS,
        cutters=(BALL, ROUND_NOSE),
        passes=PASSES,
        min_wall_mm=3.0,
    )
    lofted = loft_job(job, resolution=Resolution(slab_mm=slab_mm))[0]
    return job, lofted, wanted_port(lofted, target, limits=job.limits), behind(job, lofted)


def least_seconds(call: Callable[[], object], times: int = 5) -> float:
    """Time spent computing, not waiting for others on the machine."""
    spent = []
    for _ in range(times):
        start = process_time()
        call()
        spent.append(process_time() - start)
    return min(spent)


def test_eight_ports_by_three_passes_with_walls_after_each_take_less_than_three_seconds() -> None:
    job, port, wanted, hazards = made()
    spent = 8 * least_seconds(lambda: passes(job, port, port.cast, wanted, hazards))
    print(f"\neight ports by three passes, walls to {len(hazards)} hazards after each: {spent:.2f} s")
    assert spent < 3.0


def test_the_time_grows_no_faster_than_the_cells() -> None:
    spent, cells = [], []
    for slab in (0.5, 0.25, 0.125):
        job, port, wanted, hazards = made(slab)
        spent.append(least_seconds(lambda j=job, p=port, w=wanted, h=hazards: passes(j, p, p.cast, w, h), 3))
        cells.append(port.cast.surface.rho_mm.size)
    print("\n", [f"{c} cells {1000.0 * s:.0f} ms" for c, s in zip(cells, spent, strict=True)])
    assert spent[-1] / spent[0] < 1.3 * cells[-1] / cells[0]
