"""The light of a sheet comes out of what lies on it."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.capture.images.surface import fit_light


def test_a_quadratic_falling_off_is_found_under_a_patch_of_something_else() -> None:
    rng = np.random.default_rng(5)
    rows, columns = np.mgrid[:60, :80]
    x, y = columns / 80.0, rows / 60.0
    true = 0.8 - 0.2 * x + 0.1 * y - 0.15 * x * x + 0.05 * x * y
    seen = true + rng.normal(0.0, 0.005, true.shape)
    seen[30:52, 40:62] = 0.1
    surface = fit_light(columns.ravel(), rows.ravel(), seen.ravel(), degree=2)
    found = surface.over(np.arange(80.0), np.arange(60.0))
    assert np.abs(found - true).max() < 0.003
    assert surface.spread == pytest.approx(0.005, rel=0.6)


def test_few_pixels_bring_the_degree_down() -> None:
    places = np.arange(20.0)
    assert fit_light(places, places % 5, np.full(20, 0.5), degree=2).degree == 0
