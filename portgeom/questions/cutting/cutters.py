"""Which body of revolution is a job's cutter?"""

from __future__ import annotations

from typing import cast

from portgeom.geometry.cutter import CutterBody, CutterShape
from portgeom.job.values import Cutter


def body_of(cutter: Cutter) -> CutterBody:
    """Return the body of revolution of a cutter as the job gives it."""
    return CutterBody(
        shape=cast("CutterShape", cutter.shape),
        diameter_mm=cutter.diameter_mm,
        length_mm=cutter.length_mm,
        shank_mm=cutter.shank_mm,
        reach_mm=cutter.reach_mm,
    )
