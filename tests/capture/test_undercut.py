"""What lies behind an outline's own wall is cut off, and nothing else is."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from portgeom.capture.undercut import Hidden, opened
from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.rays import SPINE_HALF, Rays, read_outlines
from portgeom.geometry.surface import HIDDEN_SHARE

SLOT = shapely.box(19.0, 4.0, 22.0, 8.0).union(shapely.box(22.0, -2.0, 26.0, 14.0))
"""A slot of 4 mm in the right wall of a box, and a chamber of 16 mm behind it."""

POCKETED = shapely.box(-20.0, -25.0, 20.0, 25.0).union(SLOT)


def outline(shape: shapely.Polygon) -> Outline:
    return Outline.polygon(shapely.get_coordinates(shapely.orient_polygons(shape).exterior)[:-1])


def seen_share(shape: shapely.Polygon, count: int = 20_000) -> float:
    """Return how much of a shape is seen from its spine, by trying points: none of the code under test."""
    left, low, right, high = shape.bounds
    points = np.random.default_rng(7).uniform((left, low), (right, high), (count, 2))
    points = points[shapely.contains_xy(shape, points)]
    half = SPINE_HALF * (right - left)
    feet = np.column_stack(
        [np.clip(points[:, 0], 0.5 * (left + right) - half, 0.5 * (left + right) + half), points[:, 1]]
    )
    feet[:, 1] = 0.5 * (low + high)
    return float(shapely.covers(shape, shapely.linestrings(np.stack([feet, points], axis=1))).mean())


def hidden_share(one: Outline) -> float:
    low, high = one.low_mm, one.high_mm
    fan = Rays.count(256, tall=float((high - low)[1] / (high - low)[0]))
    half = np.array([SPINE_HALF * (high - low)[0]])
    return float(read_outlines(fan, one.points_mm[None], 0.5 * (low + high)[None], half).hidden_mm2[0]) / one.area_mm2


def test_a_pocket_behind_a_lip_is_cut_off_and_told_with_its_place() -> None:
    whole = outline(POCKETED)
    result = opened(whole)
    share = result.cut_mm2 / whole.area_mm2
    # of 20,000 tried points so small a share is known within three times the root of share / 20,000
    assert share == pytest.approx(1.0 - seen_share(POCKETED), abs=3.0 * (share / 20_000) ** 0.5 + HIDDEN_SHARE)
    assert result.outline.area_mm2 == pytest.approx(whole.area_mm2 - result.cut_mm2)
    assert (
        result.found
        == f"{100.0 * share:.1f} percent of it, {result.cut_mm2:.1f} mm2 at half past 2, lies behind its own wall"
    )
    assert hidden_share(whole) > HIDDEN_SHARE > hidden_share(result.outline)
    lost = shapely.union_all([shapely.Polygon(p) for p in result.pockets_mm])
    assert lost.area == pytest.approx(result.cut_mm2)
    assert shapely.box(21.9, -2.0, 26.0, 14.0).buffer(1e-6).union(shapely.box(19.9, 3.9, 22.1, 8.1)).covers(lost)


def test_walls_that_are_seen_stay_as_they_are() -> None:
    kept = opened(outline(POCKETED)).outline.points_mm
    for corner in ((-20.0, -25.0), (-20.0, 25.0), (20.0, 25.0), (20.0, -25.0), (22.0, 8.0)):
        assert np.hypot(*(kept - corner).T).min() < 1e-9


@pytest.mark.parametrize("lobes", [2, 3, 5])
def test_an_outline_seen_whole_is_returned_as_it_is(lobes: int) -> None:
    angle = np.linspace(0.0, 2.0 * pi, 400, endpoint=False)
    r = 20.0 + 2.0 * np.cos(lobes * angle)
    one = Outline.polygon(np.column_stack([r * np.cos(angle), r * np.sin(angle)]))
    assert opened(one).outline is one
    assert (opened(one).found, opened(one).pockets_mm, opened(one).cut_mm2) == ("", (), 0.0)


def test_cutting_off_twice_is_cutting_off_once() -> None:
    once = opened(outline(POCKETED)).outline
    assert opened(once).outline is once


def ring(turn_deg: float, inner: float = 15.0, outer: float = 25.0) -> shapely.Polygon:
    """Return a strip bent round a circle."""
    angle = np.radians(np.linspace(-0.5 * turn_deg, 0.5 * turn_deg, 120))
    way: F64 = np.column_stack([np.cos(angle), np.sin(angle)])
    return shapely.Polygon(np.concatenate([outer * way, inner * way[::-1]]))


def test_a_section_without_its_middle_or_with_much_hidden_is_refused() -> None:
    with pytest.raises(Hidden, match=r"^its middle lies outside it$"):
        opened(outline(ring(250.0)))
    large = shapely.box(-20.0, -25.0, 20.0, 25.0).union(shapely.box(19.0, -2.0, 28.0, 2.0))
    large = large.union(shapely.box(28.0, -20.0, 36.0, 20.0))
    with pytest.raises(Hidden, match=r"^\d\d percent of it lies behind its own wall$"):
        opened(outline(large))
