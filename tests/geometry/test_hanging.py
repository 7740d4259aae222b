"""Patches of a grid's cells, against SciPy's labels."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.hanging import hanging_together


@pytest.mark.parametrize("corners", [False, True])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 0.6, 1.0])
@pytest.mark.parametrize("shape", [(1, 1), (1, 40), (37, 1), (60, 45)])
def test_patches_are_those_of_scipy(shape, share, corners):
    from scipy import ndimage

    cells = np.random.default_rng(7).random(shape) < share
    asked, _ = ndimage.label(cells, structure=np.ones((3, 3)) if corners else None)
    np.testing.assert_array_equal(hanging_together(cells, corners=corners), asked)


def test_a_spiral_is_one_patch():
    # the longest way there is from cell to cell
    turns = np.zeros((41, 41), dtype=bool)
    for k in range(0, 20, 2):
        turns[k, k : 41 - k] = turns[k : 41 - k, 40 - k] = turns[40 - k, k : 41 - k] = True
        turns[k + 2 : 41 - k, k] = True
        turns[k + 2, k + 1] = True
    assert hanging_together(turns).max() == 1


def test_a_closed_grid_hangs_together_over_its_seam_by_sides_and_by_corners():
    cells = np.zeros((4, 6), dtype=bool)
    cells[0, 0] = cells[0, 5] = cells[2, 5] = cells[3, 0] = True
    assert hanging_together(cells).max() == 4
    assert hanging_together(cells, closed=True).tolist()[0] == [1, 0, 0, 0, 0, 1]
    assert hanging_together(cells, closed=True).max() == 3
    assert hanging_together(cells, closed=True, corners=True).max() == 2
