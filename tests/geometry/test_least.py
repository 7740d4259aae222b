"""How near many surfaces come to something: closed forms on flat sheets, and each surface asked by itself."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution, lay_chart
from portgeom.geometry.least import least_distances_mm
from portgeom.geometry.near import near, nearest_spot, places_of
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.geometry.surface import loft


def sheet(height: float) -> np.ndarray:
    """A flat sheet at a height, of places 5 by 3 mm apart, closed round as sections are."""
    x = np.concatenate([np.arange(0.0, 31.0, 3.0), np.arange(30.0, -1.0, -3.0)])
    z = np.concatenate([np.full(11, height), np.full(11, height - 20.0)])
    y = 5.0 * np.arange(9)
    return np.stack(
        [np.broadcast_to(x, (9, 22)), np.repeat(y[:, None], 22, axis=1), np.broadcast_to(z, (9, 22))], axis=-1
    )


def test_a_ball_over_flat_sheets_is_its_height_less_its_radius_away() -> None:
    heights = np.array([10.0, 10.4, 9.1, 11.7])
    centre, radius = np.array([13.7, 22.3, 18.0]), 2.0
    found = least_distances_mm(
        np.stack([sheet(h) for h in heights]), lambda p: np.linalg.norm(p - centre, axis=1) - radius
    )
    # searched to a thirty-second of a cell of 5 by 3 mm, from 6 mm and more away
    off = 0.5 * ((5.0 / 32.0) ** 2 + (3.0 / 32.0) ** 2) / (18.0 - heights)
    assert (found >= 18.0 - heights - radius - 1e-12).all()
    assert (found <= 18.0 - heights - radius + off).all()


def test_each_of_many_is_as_near_as_it_is_by_itself() -> None:
    path = Path.from_angles([0.0, 30.0, 60.0], [0.0, 10.0, 25.0], [0.0] * 3, [0.0] * 3)
    surfaces = []
    for wider in (0.0, 0.3, -0.4, 0.8):
        outlines = [rectangle(40.0 + wider, 34.0 - wider, CornerRadii(8.0, 8.0, 8.0, 8.0))] * 3
        chart = lay_chart(
            path, [rectangle(40.0, 34.0, CornerRadii(8.0, 8.0, 8.0, 8.0))] * 3, resolution=Resolution(6.0, 64)
        )
        surfaces.append(loft(chart, path.distance_mm, outlines))
    axis, to = np.array([26.0, 20.0, -30.0]), np.array([0.0, 0.3, 1.0])
    to /= np.linalg.norm(to)

    def hole(points: np.ndarray) -> np.ndarray:
        gap = points - axis
        return np.linalg.norm(gap - (gap @ to)[:, None] * to, axis=1) - 4.0

    together = least_distances_mm(np.stack([places_of(s).nodes_mm for s in surfaces]), hole)
    alone = [nearest_spot(p, hole, near(p, hole, 3.0)).distance_mm for p in map(places_of, surfaces)]
    assert together == pytest.approx(alone, abs=1e-9)
