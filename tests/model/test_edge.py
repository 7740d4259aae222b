"""Upper boundaries of sections, their hulls, spans and recut corners: closed forms throughout."""

from __future__ import annotations

from math import acos, cos, hypot, pi, radians, sin, tan

import numpy as np
import pytest
import shapely

from portgeom.geometry.arrays import F64
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.model.corners import Corners
from portgeom.model.edge import (
    Edge,
    bridged_across,
    bridged_edges,
    roof_span_mm,
    roof_spans_mm,
    section_edges,
    upper_edge,
    upper_edges,
    wall_tops,
)
from portgeom.model.recut import recut_corners, side_walls

BOX = np.array([(-20.0, -25.0), (20.0, -25.0), (20.0, 25.0), (-20.0, 25.0)])


def test_the_upper_boundary_of_a_circle_is_its_upper_half() -> None:
    edge = upper_edge(circle(46.0).points_mm)
    assert (edge.u_mm[0], edge.u_mm[-1]) == pytest.approx((-23.0, 23.0))
    u = np.linspace(-22.5, 22.5, 200)
    assert edge.height_mm(u) == pytest.approx(np.sqrt(23.0**2 - u**2), abs=0.02)
    assert edge.crown_mm == pytest.approx(23.0, rel=1e-6)


def test_beyond_its_walls_a_section_has_no_roof() -> None:
    assert np.isnan(upper_edge(BOX).height_mm(np.array([-20.1, 20.1]))).all()


def test_the_upper_boundary_starts_at_the_upper_of_the_widest_places() -> None:
    tops = wall_tops(Corners.of([BOX]))
    assert BOX[tops.right].tolist() == [[20.0, 25.0]]
    assert BOX[tops.left].tolist() == [[-20.0, 25.0]]
    edge = upper_edge(BOX)
    assert edge.u_mm.tolist() == [-20.0, 20.0]
    assert edge.v_mm.tolist() == [25.0, 25.0]


POCKET = [(3.0, 25.0), (3.0, 27.0), (9.0, 27.0), (9.0, 31.0)]
MUSHROOM = [(2.0, 25.0), (2.0, 22.0), (5.0, 22.0), (5.0, 20.0)]
LEANING_BOSS = [(4.0, 25.0), (4.1, 19.0)]


def roof_of(feature: list[tuple[float, float]], width: float = 20.0) -> F64:
    """Return a section with a feature and its mirror image in a flat roof."""
    mirrored = [(-u, v) for u, v in feature[::-1]]
    return np.array([(-width, -25.0), (width, -25.0), (width, 25.0), *feature, *mirrored, (-width, 25.0)])


def waisted(pinch: float, wider_below: float) -> F64:
    """Return a section 42 wide whose side walls bulge in at mid height, a hair wider below than above."""
    v = np.linspace(-25.0, 25.0, 101)
    wall = 21.0 - pinch * np.exp(-((v / 8.0) ** 2)) - wider_below * (v + 25.0) / 50.0
    return np.concatenate([np.column_stack([wall, v]), np.column_stack([-wall, v])[::-1]])


@pytest.mark.parametrize("pinch", [0.0, 2.0, 6.0])
@pytest.mark.parametrize("wider_below", [-0.5, -0.01, 0.0, 0.01, 0.5])
def test_a_roof_leaves_its_walls_above_their_waist(pinch: float, wider_below: float) -> None:
    points = waisted(pinch, wider_below)
    edge = upper_edge(points)
    if pinch > 0.0 or wider_below < 0.0:
        assert edge.v_mm.min() > 15.0
    # bridged across, nothing is filled in
    across = np.linspace(edge.u_mm[0], edge.u_mm[-1], 401)
    assert bridged_across(edge).height_mm(across) == pytest.approx(edge.height_mm(across), abs=1e-9)


@pytest.mark.parametrize(
    ("feature", "heights"),
    [
        (POCKET, {0.0: 31.0, 2.9: 31.0, 3.1: 25.0, 6.0: 25.0, 15.0: 25.0}),
        (MUSHROOM, {0.0: 20.0, 3.0: 20.0, 4.9: 20.0, 5.1: 25.0, 15.0: 25.0}),
        (LEANING_BOSS, {0.0: 19.0, 4.0: 19.0, 4.09: 19.0, 4.11: 25.0, 10.0: 25.0}),
    ],
    ids=["pocket", "mushroom", "boss with leaning sides"],
)
def test_over_an_undercut_the_first_metal_met_going_up_counts(
    feature: list[tuple[float, float]], heights: dict[float, float]
) -> None:
    edge = upper_edge(roof_of(feature))
    assert (np.diff(edge.u_mm) > 0.0).all()
    for u, v in heights.items():
        assert edge.height_mm(np.array([-u, u])) == pytest.approx([v, v], abs=1e-6)


def test_upright_steps_and_jitter_of_a_wall_keep_the_edge_rising() -> None:
    # a step straight up in the roof, and a wall whose places differ by the last bit
    wall = [(18.0 + k * 3.6e-15, 2.0 + 0.5 * (k % 3) + k) for k in (0, 1, 1, 0, 2, 0)]
    wall = sorted(wall, key=lambda p: p[1])
    points = np.array(
        [(-21.0, -25.0), (21.0, -25.0), (18.0, 1.0), *wall, (18.0, 15.0), (5.0, 20.0), (5.0, 25.0), (-21.0, 25.0)]
    )
    edge = upper_edge(points)
    assert (np.diff(edge.u_mm) > 0.0).all()
    at = edge.height_mm(np.array([-3.0, 4.999, 5.001, 11.5]))
    assert at == pytest.approx([25.0, 25.0, 20.0, 17.5], abs=1e-3)
    assert np.isfinite(bridged_across(edge).v_mm).all()


@pytest.mark.parametrize("seed", range(6))
def test_any_upper_boundary_is_the_lowest_crossing_of_its_chain(seed: int) -> None:
    # a ragged trace that overhangs here and there in its middle 60 percent, cut by upright lines with shapely
    rng = np.random.default_rng(seed)
    u = np.linspace(11.0, -11.0, 40) + rng.uniform(-1.5, 1.5, 40)
    u[[0, -1]] = 20.5, -20.5  # so that what closes it crosses nothing
    chain = np.column_stack([u, 25.0 + np.cumsum(rng.uniform(0.1, 0.4, 40))])
    chain = chain if seed % 2 else chain[::-1] * (-1.0, 1.0)
    ends = (21.0, chain[0, 1] - 0.05), (-21.0, chain[-1, 1] - 0.05)
    chain = np.concatenate([chain[:20], chain[19:20] + (0.0, 1e-7 if seed % 2 else -1e-7), chain[20:]])
    points = np.array([(-21.0, -25.0), (21.0, -25.0), ends[0], *chain.tolist(), ends[1]])
    edge = upper_edge(points)
    line = shapely.LineString([ends[0], *chain.tolist(), ends[1]])
    assert line.is_simple
    for at in rng.uniform(-20.9, 20.9, 200):
        met = shapely.intersection(line, shapely.LineString([(at, -100.0), (at, 100.0)]))
        assert edge.height_mm(np.array([at]))[0] == pytest.approx(met.bounds[1], abs=1e-6)


def test_sections_of_unlike_size_asked_together_are_each_as_asked_alone() -> None:
    sections = [BOX, circle(46.0).points_mm, waisted(6.0, 0.01), *map(roof_of, (POCKET, MUSHROOM, LEANING_BOSS))]
    sections += [np.roll(points, 1 + len(points) // 3, axis=0) for points in sections]
    edges, alone = upper_edges(sections), [upper_edge(points) for points in sections]
    bridged, bridged_alone = bridged_edges(edges), [bridged_across(edge) for edge in alone]
    for one, other in zip((*edges, *bridged), (*alone, *bridged_alone), strict=True):
        assert np.array_equal(one.u_mm, other.u_mm)
        assert np.array_equal(one.v_mm, other.v_mm)
    assert roof_spans_mm(bridged).tolist() == [list(roof_span_mm(edge)) for edge in bridged_alone]


def test_at_a_station_the_edge_is_that_of_the_outline_measured_there() -> None:
    outline = circle(46.0).points_mm
    first, second, third = section_edges([BOX, BOX, BOX], {1: outline})
    assert first.crown_mm == third.crown_mm == 25.0
    assert second.crown_mm == pytest.approx(23.0, rel=1e-6)


def test_a_hollow_is_bridged_by_the_hull_and_corners_stay() -> None:
    # a boss 6 deep and 10 wide in a flat roof 40 wide with corners of 5 by 5
    edge = Edge(
        np.array([-20.0, -15.0, -5.0, 0.0, 5.0, 15.0, 20.0]), np.array([20.0, 25.0, 25.0, 19.0, 25.0, 25.0, 20.0])
    )
    bridged = bridged_across(edge)
    u = np.array([-20.0, -17.5, -15.0, 0.0, 15.0, 17.5, 20.0])
    assert bridged.height_mm(u) == pytest.approx([20.0, 22.5, 25.0, 25.0, 25.0, 22.5, 20.0])


@pytest.mark.parametrize("seed", range(5))
def test_the_bridged_edge_is_the_upper_hull_of_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    u = np.sort(rng.uniform(-20.0, 20.0, 60))
    edge = Edge(u, 20.0 + rng.normal(size=60))
    bridged = bridged_across(edge)
    hull = shapely.convex_hull(shapely.MultiPoint(np.column_stack([edge.u_mm, edge.v_mm])))
    across = np.linspace(u[0] + 1e-6, u[-1] - 1e-6, 100)
    for a, v in zip(across, bridged.height_mm(across), strict=True):
        line = shapely.intersection(hull, shapely.LineString([(a, -100.0), (a, 100.0)]))
        assert v == pytest.approx(line.bounds[3], abs=1e-9)


def test_a_concave_edge_is_returned_as_it_is() -> None:
    edge = upper_edge(circle(46.0).points_mm)
    assert bridged_across(edge) is edge


def test_a_roof_ends_where_its_normal_leans_60_degrees() -> None:
    # on a circle the normal leans as far as the place is round it
    left, right = roof_span_mm(upper_edge(circle(46.0).points_mm))
    step = 23.0 * 2.0 * pi / 480.0
    assert right == pytest.approx(23.0 * sin(radians(60.0)), abs=step)
    assert left == pytest.approx(-right, abs=1e-9)


def test_walls_follow_the_chord_from_a_quarter_of_the_way_up_to_as_far_below() -> None:
    # a section 40 wide at its floor and 30 at its crown: walls lean 5 in 50 on each side
    leaning = np.array([(-20.0, -25.0), (20.0, -25.0), (15.0, 25.0), (-15.0, 25.0)])
    walls = side_walls(Corners.of([leaning]), np.zeros(1))
    length = hypot(5.0, 50.0)
    assert walls.right_foot[0] == pytest.approx([17.5, 0.0])
    assert walls.right_up[0] == pytest.approx([-5.0 / length, 50.0 / length])
    assert walls.left_foot[0] == pytest.approx([-17.5, 0.0])
    assert walls.left_up[0] == pytest.approx([5.0 / length, 50.0 / length])


def recut(points: F64, radius: float) -> F64:
    walls = side_walls(Corners.of([points]), np.zeros(1))
    (roof,) = recut_corners(bridged_edges(upper_edges([points])), walls, np.array([radius]))
    return roof


@pytest.mark.parametrize("own", [0.0, 4.0, 12.0])
@pytest.mark.parametrize("radius", [6.0, 9.5, 15.0])
def test_a_corner_between_upright_walls_and_a_level_roof_is_a_quarter_circle(own: float, radius: float) -> None:
    # whatever the radius as cast, so long as the roof's middle third is level, the new one is as asked
    roof = recut(rectangle(42.0, 50.0, CornerRadii(own, own, 0.0, 0.0)).points_mm, radius)
    assert roof[0] == pytest.approx([21.0, 25.0 - radius], abs=1e-9)
    assert roof[-1] == pytest.approx([-21.0, 25.0 - radius], abs=1e-9)
    assert roof[:, 1].max() == pytest.approx(25.0, abs=1e-9)
    shape = shapely.Polygon([*roof.tolist(), (-21.0, 0.0), (21.0, 0.0)])
    assert shape.is_valid
    chord = pi / 46.0  # 23 of them make the quarter circle
    sectors = 2.0 * radius**2 * 23.0 * 0.5 * sin(chord)
    assert shape.area == pytest.approx(42.0 * 25.0 - 2.0 * radius**2 + sectors, rel=1e-12)


@pytest.mark.parametrize("lean_deg", [-8.0, 0.0, 5.0, 12.0])
@pytest.mark.parametrize("slope_deg", [-10.0, 0.0, 6.0])
def test_a_recut_corner_touches_leaning_wall_and_sloping_roof(lean_deg: float, slope_deg: float) -> None:
    half, top = 20.0, 25.0
    lean, slope = tan(radians(lean_deg)), tan(radians(slope_deg))
    # walls through (half, 0), leaning in upwards; roof through (0, top)
    right = (half - lean * top) / (1.0 + lean * slope)
    left = -(half - lean * top) / (1.0 - lean * slope)
    section = np.array(
        [
            (-half - 25.0 * lean, -25.0),
            (half + 25.0 * lean, -25.0),
            (right, top + slope * right),
            (left, top + slope * left),
        ]
    )
    roof = recut(section, 8.0)
    corner = np.array([right, top + slope * right])
    wall_down = np.array([lean, -1.0]) / hypot(lean, 1.0)
    roof_in = np.array([-1.0, -slope]) / hypot(1.0, slope)
    half_angle = 0.5 * acos(float(wall_down @ roof_in))
    reach = 8.0 / tan(half_angle)
    assert roof[0] == pytest.approx(corner + reach * wall_down, abs=1e-9)
    arc = roof[:24]
    assert arc[-1] == pytest.approx(corner + reach * roof_in, abs=1e-9)
    centre = corner + (wall_down + roof_in) / (2.0 * cos(half_angle)) * 8.0 / sin(half_angle)
    assert np.hypot(*(arc - centre).T) == pytest.approx(np.full(24, 8.0), abs=1e-9)
