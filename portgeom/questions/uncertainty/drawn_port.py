"""What is a port in one draw, for the real code to go on with?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.moments import polygon_perimeter_mm
from portgeom.geometry.outline import Outline
from portgeom.geometry.surface import Surface
from portgeom.job.values import SectionTable
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.uncertainty.draws import Block, Measuring
from portgeom.questions.uncertainty.path_draws import drawn_path


def drawn_port(m: Measuring, coarse: LoftedPort, block: Block, draw: int) -> LoftedPort:
    """Return a port with the path and the surfaces that it has in one draw.

    Its slabs, its rays and its spine are those of the draws, and at a station too the section runs from ray to ray: so
    what their coarseness does cancels against a draw without errors.

    Parameters
    ----------
    coarse : LoftedPort
        The port itself on the chart of the draws.
    block : Block
        That holds the draw.

    Raises
    ------
    GeometryError
        Where the draw's readings make no path.
    """
    path = drawn_path(coarse.cast.stage.sections, m.path.one(draw), start_mm=coarse.port.position_mm)
    chart = m.chart.laid_over(path)
    row = draw - block.draws.start
    cast, *later = (_stage(chart, s, rho[row]) for s, rho in zip(coarse.stages, block.rho_mm, strict=True))
    return replace(coarse, chart=chart, stages=(_with_sections(cast), *later))


def _stage(chart: Chart, stage: LoftedStage, rho_mm: F64) -> LoftedStage:
    around = polygon_perimeter_mm(chart.tips_mm(rho_mm))
    surface = Surface(chart, rho_mm, chart.moments(rho_mm), around, np.zeros(len(rho_mm)))
    return replace(stage, distance_mm=chart.distance_mm[stage.slab], surface=surface)


def _with_sections(stage: LoftedStage) -> LoftedStage:
    """Return a stage whose table holds the sections of its surface."""
    surface, table = stage.surface, stage.stage.sections
    points = surface.points_mm
    rows = tuple(
        replace(
            row,
            outline=Outline.curve(
                points[j], area_mm2=float(surface.area_mm2[j]), perimeter_mm=float(surface.perimeter_mm[j])
            ),
        )
        for row, j in zip(table.rows, stage.slab, strict=True)
    )
    return replace(stage, stage=replace(stage.stage, sections=SectionTable(table.file, rows)))
