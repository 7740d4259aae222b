"""Straight ports of known size, with things behind their walls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.moments import Moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.values import (
    CutPass,
    Cutter,
    Hazard,
    Job,
    Line,
    Port,
    SectionTable,
    Stage,
    StationRow,
    Target,
    Units,
)
from portgeom.model.lofted import LoftedPort, LoftedStage, loft_job
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark, depth_card
from portgeom.questions.cutting.passes import Passes, passes
from portgeom.questions.shape.removal import removal
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import Wall, Walls, walls
from portgeom.questions.whole import wanted_of

BOX = rectangle(40.0, 30.0, CornerRadii(8.0, 8.0, 8.0, 8.0))
"""Roof at z 15, floor at -15, walls at x 20 and -20, corners of radius 8."""


@dataclass(frozen=True)
class Hazarded:
    """A job of one port with hazards."""

    job: Job
    port: LoftedPort

    @property
    def surface(self) -> Surface:
        return self.port.cast.surface

    def walls(self, surface: Surface | None = None, **options: object) -> Walls:
        hazards = behind(self.job, self.port)
        return walls(self.port, surface or self.surface, "as cast", hazards, **options)

    def only(self) -> Wall:
        (wall,) = self.walls().walls
        return wall

    def raised(self, by_mm: float, *, from_mm: float = 0.0, to_mm: float = np.inf) -> Surface:
        """The same port with its roof, where the rays go straight up, higher by so much."""
        chart = self.port.chart
        rho = self.surface.rho_mm.copy()
        rows = (chart.distance_mm >= from_mm) & (chart.distance_mm <= to_mm)
        rho[rows, chart.rays.up] += by_mm
        nothing = Moments(np.zeros(len(rho)), np.zeros((len(rho), 2)))
        return with_distances(self.surface, rho, nothing)


@pytest.fixture(scope="session")
def hazarded() -> Callable[..., Hazarded]:
    """Make a port along y, its path starting at the origin unless told otherwise."""

    def make(
        *hazards: Hazard,
        min_wall: float | None = 3.0,
        density: float = 7.2,
        position: Sequence[float] = (0.0, 0.0, 0.0),
        outline: Outline = BOX,
        distance: Sequence[float] = (0.0, 80.0),
        pitch: Sequence[float] | None = None,
        yaw: float = 0.0,
        folder: Path = Path(),
    ) -> Hazarded:
        angles = [0.0] * len(distance) if pitch is None else pitch
        rows = tuple(
            StationRow(str(k), k + 1, float(s), float(p), yaw, None, None, "", outline)
            for k, (s, p) in enumerate(zip(distance, angles, strict=True), 1)
        )
        stage = Stage("as cast", SectionTable("cast.csv", rows))
        port = Port("1", "intake", (stage,), position_mm=np.array(position, float))
        job = Job(folder, "t", "mm", "grey iron", density, (port,), hazards=hazards, min_wall_mm=min_wall)
        return Hazarded(job, loft_job(job)[0])

    return make


@pytest.fixture(scope="session")
def hole() -> Callable[..., Hazard]:
    """Make a drilled hole from a start to an end."""

    def make(start: Sequence[float], end: Sequence[float], diameter: float = 11.0, **more: object) -> Hazard:
        ends = {"start_mm": np.array(start, float), "end_mm": np.array(end, float)}
        return Hazard("bolt hole", "cylinder", diameter_mm=diameter, **ends, **more)

    return make


BALL_10 = Cutter("ball 10", "ball", 10.0, 10.0, 6.0, 120.0)


@dataclass(frozen=True)
class Worked:
    """A port under the cutter: what every pass did, and what there was to take off."""

    job: Job
    port: LoftedPort
    stage: LoftedStage
    wanted: Wanted

    @cached_property
    def plan(self) -> Passes:
        return passes(self.job, self.port, self.stage, self.wanted, behind(self.job, self.port))

    @property
    def results(self) -> tuple[PassResult, ...]:
        return self.plan.results

    @property
    def first(self) -> PassResult:
        return self.results[0]

    def named(self, name: str) -> PassResult:
        return next(r for r in self.results if r.plan.name == name)

    def removal_mm3(self) -> float:
        return removal(self.port, self.stage, self.wanted, density_g_cc=7.2).volume_mm3

    def card(self, result: PassResult | None = None, units: Units = "mm") -> tuple[CardMark, ...]:
        return depth_card(result or self.first, self.wanted, units)

    def slab(self, distance_mm: float) -> int:
        return self.port.chart.slab_at(distance_mm)


@pytest.fixture(scope="session")
def worked(table_of: Callable[..., SectionTable], job_of: Callable[..., Job]) -> Callable[..., Worked]:
    """Return a function that cuts passes into a port of given sections.

    ``roof``, ``floor`` are rows of the target's lines; ``target`` is a whole one; ``later`` are outlines measured
    afterwards; what begins with an angle's name goes to the table; ``job`` replaces fields of the job.
    """

    def cut(
        distance_mm: Sequence[float],
        outlines: Sequence[Outline],
        *given: CutPass,
        roof: Sequence[tuple[float, float]] = (),
        floor: Sequence[tuple[float, float]] = (),
        target: Target | None = None,
        cutters: Sequence[Cutter] = (BALL_10,),
        later: Sequence[Outline] = (),
        pitch_deg: Sequence[float] | None = None,
        yaw_deg: Sequence[float] | None = None,
        job: dict[str, object] | None = None,
        **port: object,
    ) -> Worked:
        angles = {"pitch_deg": pitch_deg, "yaw_deg": yaw_deg}
        tables = [table_of(distance_mm, outlines, **angles)]
        if later:
            tables.append(table_of(distance_mm, later, **angles))
        if target is None and (roof or floor):
            lines = [Line(np.array(rows, dtype=float)) if rows else None for rows in (roof, floor)]
            target = Target("wanted", roof=lines[0], floor_line=lines[1])
        made = job_of(*tables, target=target, **port)
        made = replace(made, cutters=tuple(cutters), passes=given, **(job or {}))
        ports = loft_job(made)
        return Worked(made, ports[0], ports[0].stage(None), wanted_of(made, ports, ports[0]))

    return cut
