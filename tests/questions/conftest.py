"""Straight ports of known size, with things behind their walls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.moments import Moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.values import Hazard, Job, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.walls import Wall, Walls, walls
from portgeom.questions.walls_behind import behind

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
