"""How high a ball is led under a sheet, against the erosion of another library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from portgeom.questions.cutting.level import under_ball_mm
from portgeom.questions.cutting.side import STEP_MM


@pytest.mark.parametrize("radius", [3.0, 5.0, 6.35])
def test_a_ball_under_a_sheet_is_where_grey_erosion_by_a_ball_has_it(radius: float) -> None:
    sheet = 20.0 + np.random.default_rng(3).normal(0.0, 1.0, (60, 40))
    offset = STEP_MM * np.arange(-int(radius / STEP_MM), int(radius / STEP_MM) + 1)
    square = radius**2 - offset[:, None] ** 2 - offset**2
    ball = np.sqrt(np.maximum(square, 0.0))
    eroded = ndimage.grey_erosion(sheet, footprint=square >= 0.0, structure=ball, mode="nearest")
    assert np.array_equal(under_ball_mm(sheet, np.arange(60), radius), eroded)
    some = np.array([0, 7, 8, 31, 59])
    assert np.array_equal(under_ball_mm(sheet, some, radius), eroded[some])
