"""The metal between two passages as a solid, read as another library reads it: corners that lie together are one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job
from portgeom.questions.shape.solids import port_solids
from portgeom.questions.whole import answers

EXAMPLE = Path(__file__).parents[3] / "examples" / "workshop-pair"


@pytest.mark.parametrize("number", [0, 1])
def test_every_solid_is_closed_once_its_corners_are_merged(number: int) -> None:
    job = read_job(EXAMPLE)
    ports = loft_job(job)
    port = ports[number]
    metal = answers(job, ports, port, port.cast).removal
    parts = port_solids(port.cast, metal)
    assert [p.what for p in parts] == ["passage", "wanted", "metal to remove"]
    for part in parts:
        # as single precision leaves them in a file
        single = part.solid.vertices_mm.astype(np.float32)
        mesh = trimesh.Trimesh(single, part.solid.faces, process=True)
        assert mesh.is_watertight, part.what
        assert mesh.volume == pytest.approx(part.formula_mm3, rel=5e-3), part.what
    between = parts[2].solid
    # no skin over the openings: at the ends there is metal where the section changes, and nowhere inside of it
    corners = between.vertices_mm[between.faces]
    chart = port.chart
    for end, sign in ((0, -1.0), (-1, 1.0)):
        out = (corners - chart.planes.origin_mm[end]) @ (sign * chart.planes.normal[end])
        lying = np.abs(out).max(axis=1) < 2e-3
        square = 0.5 * np.linalg.norm(np.cross(*(corners[lying][:, k] - corners[lying][:, 0] for k in (1, 2))), axis=1)
        assert square.sum() == pytest.approx(metal.after.area_mm2[end] - port.cast.surface.area_mm2[end], rel=0.02)
