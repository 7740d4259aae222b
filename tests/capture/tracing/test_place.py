"""Where the axes of a section lie on the sheet."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.place import placing
from portgeom.geometry.arrays import F64


def square(side: float) -> F64:
    return 0.5 * side * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def test_marks_all_round_show_no_roof() -> None:
    marks = np.array([[0.0, 13.0], [0.0, -13.0]])
    with pytest.raises(Unsure, match="its marks lie all round it"):
        placing(square(20.0), (), marks, roof="mark", origin="centroid", mirrored=False)


def test_to_the_section_and_back_is_where_it_was() -> None:
    where = placing(square(20.0) + [3.0, 4.0], (), np.empty((0, 2)), roof=35.0, origin="lowest", mirrored=True)
    points = np.array([[1.0, 2.0], [-5.0, 8.0]])
    assert where.to_sheet(where.to_section(points)) == pytest.approx(points)
    # looking out and turned by 35 degrees: what is right lies to the left
    assert where.right == pytest.approx([-np.cos(np.radians(35.0)), np.sin(np.radians(35.0))])
