"""What does the real code say of a port on the coarse chart of its draws?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from portgeom.geometry.chart import Chart
from portgeom.geometry.surface import knot_slabs, loft
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.whole import wanted_of


@dataclass(frozen=True, slots=True)
class Coarse:
    """A port on the coarse chart, and what is wanted of it."""

    port: LoftedPort
    wanted: Wanted


def coarse_port(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, chart: Chart) -> Coarse:
    """Return a port lofted on a coarse chart of its own path, and what the real code says of it."""
    stages = tuple(_stage(chart, stage) for stage in port.stages)
    pattern = None if port.pattern is None else _stage(chart, port.pattern)
    own = replace(port, chart=chart, stages=stages, pattern=pattern)
    return Coarse(own, wanted_of(job, ports, own))


def _stage(chart: Chart, stage: LoftedStage) -> LoftedStage:
    outlines = [row.outline for row in stage.stage.sections.rows]
    surface = loft(chart, stage.distance_mm, outlines)
    return LoftedStage(stage.stage, stage.distance_mm, knot_slabs(chart, stage.distance_mm), surface)
