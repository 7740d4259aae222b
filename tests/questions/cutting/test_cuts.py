"""Grooves, levelling and blending against closed forms and against grids that share no code with the package."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import acos, atan, cos, pi, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.surface import Surface
from portgeom.job.values import CutPass, Cutter, SectionTable, StationRow, Target

Array = NDArray[np.float64]
R = 5.0
STATIONS = np.linspace(0.0, 100.0, 15)  # slabs of 0.446 mm: no run below begins or ends on one
BOX = rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 6.0, 6.0))  # roof at 25, walls at 21
ON_15 = [BOX] * 15
FROM, TO = 20.3, 60.1


def segment_mm2(d: float, r: float = R) -> float:
    """Circular segment of sagitta d."""
    return r**2 * acos((r - d) / r) - (r - d) * sqrt(2.0 * r * d - d**2)


def cap_mm3(d: float, r: float = R) -> float:
    """Spherical cap of height d."""
    return pi * d**2 * (3.0 * r - d) / 3.0


def grooves(depth: float | None, *across: float, name: str = "grooves", **more: object) -> CutPass:
    run = {"from_mm": FROM, "to_mm": TO, "leave_mm": 0.1, "side": "roof"} | more
    return CutPass(name, "grooves", cutter="ball 10", depth_mm=depth, across_mm=across, **run)


def cutter(shape: str, length: float, diameter: float = 10.0, name: str = "ball 10") -> Cutter:
    return Cutter(name, shape, diameter, length, 6.0, 120.0)


def topped(roof: Callable[[Array], Array], width: float = 40.0, points: int = 161) -> Outline:
    """A box with a floor at -15 and a roof of any height."""
    u = np.linspace(0.5 * width, -0.5 * width, points)
    return Outline.polygon([*zip(u, roof(u), strict=True), (-0.5 * width, -15.0), (0.5 * width, -15.0)])


def of_sections(outline: Outline) -> Target:
    """A target of one section from end to end."""
    rows = [StationRow(str(i), i, float(s), None, None, None, None, "", outline) for i, s in enumerate((0, 100))]
    return Target("larger", sections=SectionTable("larger.csv", tuple(rows)))


# in a flat roof


@pytest.mark.parametrize("depth", [0.5, 3.3, 4.0])
@pytest.mark.parametrize("across", [0.13, -6.0])
@pytest.mark.parametrize(
    ("shape", "length", "round_ends", "rel"),
    [("ball", 10.0, 2, 0.002), ("cylinder", 15.0, 0, 0.006), ("round-nose cylinder", 15.0, 1, 0.004)],
)
def test_groove_in_a_flat_roof_is_a_segment_with_the_cutters_own_ends(
    worked: Callable, shape: str, length: float, round_ends: int, rel: float, depth: float, across: float
) -> None:
    # flat faces stand between two slabs: their place is known to a fraction of one, 0.1 mm of 40
    port = worked(STATIONS, ON_15, grooves(depth, across), roof=[(0, 33), (100, 33)], cutters=[cutter(shape, length)])
    expected = segment_mm2(depth) * (TO - FROM) + 0.5 * round_ends * cap_mm3(depth)
    assert port.first.volume_mm3 == pytest.approx(expected, rel=rel)


def test_groove_is_as_deep_as_set_and_its_place_is_where_it_was_put(worked: Callable) -> None:
    port = worked(STATIONS, ON_15, grooves(3.3, -8.0, 2.0), roof=[(0, 33), (100, 33)])
    for groove, across in zip(port.first.grooves, (-8.0, 2.0), strict=True):
        s = port.port.chart.distance_mm[groove.runs]
        assert (s[0] - FROM, TO - s[-1]) == pytest.approx((0.25, 0.25), abs=0.25)
        assert (groove.from_mm, groove.to_mm) == (FROM, TO)
        assert groove.depth_mm[groove.runs] == pytest.approx(np.full(len(s), 3.3), abs=1e-9)
        assert groove.bottom_mm[groove.runs] == pytest.approx(np.full(len(s), 28.3), abs=1e-9)
        assert (groove.along_mm == across).all()


@pytest.mark.parametrize(
    ("side", "across", "wall"), [("roof", 3.0, 25.0), ("floor", 3.0, 25.0), ("left", 2.0, 21.0), ("right", 2.0, 21.0)]
)
def test_every_side_is_cut_alike_at_the_place_named(worked: Callable, side: str, across: float, wall: float) -> None:
    larger = rectangle(42.0 + 12.0, 50.0 + 12.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    box = rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    target = of_sections(larger)
    port = worked(STATIONS, [box] * 15, grooves(3.0, across, side=side), target=target)
    expected = segment_mm2(3.0) * (TO - FROM) + cap_mm3(3.0)
    assert port.first.volume_mm3 == pytest.approx(expected, rel=0.002)
    points = port.first.after.points_mm[port.slab(40.0)]
    axis = 1 if side in ("roof", "floor") else 0
    sign = 1.0 if side in ("roof", "right") else -1.0
    deepest = points[np.argmax(sign * points[:, axis])]
    assert deepest[1 - axis] == pytest.approx(across, abs=0.4)  # between two rays
    assert sign * deepest[axis] == pytest.approx(wall + 3.0, abs=0.02)


def test_groove_holds_off_the_line_by_what_the_pass_leaves(worked: Callable) -> None:
    port = worked(STATIONS, ON_15, grooves(4.0, 0.0, leave_mm=1.3), roof=[(0, 28), (100, 28)])
    groove = port.first.grooves[0]
    assert np.nanmax(groove.bottom_mm) == pytest.approx(28.0 - 1.3, abs=1e-9)
    assert np.nanmax(groove.depth_mm) == pytest.approx(3.0 - 1.3, abs=0.01)
    assert port.first.volume_mm3 == pytest.approx(segment_mm2(1.7) * (TO - FROM) + cap_mm3(1.7), rel=0.002)


def test_two_grooves_that_cross_into_each_other_leave_the_cusp_of_two_circles(worked: Callable) -> None:
    for pitch in (3.0, 6.0, 8.0):
        port = worked(STATIONS, ON_15, grooves(4.0, -0.5 * pitch, 0.5 * pitch), roof=[(0, 33), (100, 33)])
        cusp = R - sqrt(R**2 - (0.5 * pitch) ** 2)
        assert port.first.rib.height_mm == pytest.approx(cusp, abs=1e-9)
        # the union of two circles' segments: both, less the lens they share above the roof
        low = np.linspace(0.0, 4.0, 200_001)
        half = np.sqrt(R**2 - (R - 4.0 + low) ** 2)
        both = np.where(half > 0.5 * pitch, pitch + 2.0 * half, 4.0 * half)
        area = float(0.5 * (both[1:] + both[:-1]) @ np.diff(low))
        k = port.slab(40.0)
        assert port.first.after.area_mm2[k] - BOX.area_mm2 == pytest.approx(area, rel=0.002)


def test_rib_between_grooves_apart_has_the_height_of_the_grooves_and_its_own_top(worked: Callable) -> None:
    port = worked(STATIONS, ON_15, grooves(3.0, -8.0, 8.0), roof=[(0, 33), (100, 33)])
    assert port.first.rib.height_mm == pytest.approx(3.0, abs=1e-9)
    assert port.first.rib.top_mm == pytest.approx(16.0 - 2.0 * sqrt(R**2 - (R - 3.0) ** 2), abs=1e-9)


# on leaning, round and bent ports


@pytest.mark.parametrize("depth", [1.0, 3.3])
@pytest.mark.parametrize("slope", [0.1, 0.3, 0.6])
def test_groove_in_a_roof_that_leans_along_the_port_is_set_square_to_it(
    worked: Callable, slope: float, depth: float
) -> None:
    s = np.linspace(0.0, 90.0, 10)
    roof = [topped(lambda u, x=x: 20.0 + slope * x + 0.0 * u) for x in s]
    port = worked(s, roof, grooves(depth, 0.0), roof=[(0, 40), (90, 40 + 90 * slope)])
    lean = atan(slope)
    expected = segment_mm2(depth) * (TO - FROM) / cos(lean) + cap_mm3(depth)
    assert port.first.volume_mm3 == pytest.approx(expected, rel=0.004)
    k = port.slab(40.0)
    height = 20.0 + slope * port.port.chart.distance_mm[k]
    assert port.first.grooves[0].depth_mm[k] == pytest.approx(depth, abs=0.01)
    assert port.first.grooves[0].bottom_mm[k] - height == pytest.approx(depth / cos(lean), abs=0.01)


@pytest.mark.parametrize("depth", [1.0, 3.3])
@pytest.mark.parametrize("slope", [0.1, -0.3, 0.6])
def test_groove_in_a_roof_that_leans_across_lies_on_its_row(worked: Callable, slope: float, depth: float) -> None:
    s = np.linspace(0.0, 90.0, 10)
    port = worked(s, [topped(lambda u: 20.0 + slope * u)] * 10, grooves(depth, 2.0), roof=[(0, 60), (90, 60)])
    assert port.first.volume_mm3 == pytest.approx(segment_mm2(depth) * (TO - FROM) + cap_mm3(depth), rel=0.005)
    k = port.slab(40.0)
    points = port.first.after.points_mm[k]
    lean = atan(slope)
    deep = (points[:, 1] - 20.0 - slope * points[:, 0]) * cos(lean)
    touch = points[np.argmax(deep)]
    assert deep.max() == pytest.approx(depth, abs=0.03)  # rays are 0.6 mm apart
    assert touch[0] == pytest.approx(2.0 - depth * np.sin(lean), abs=0.4)
    assert port.first.grooves[0].depth_mm[k] == pytest.approx(depth, abs=0.01)


def lens_mm2(a: float, b: float, apart: float) -> float:
    """What two circles share. With both radii 1 and 1 apart 1.22837, a published value."""
    alpha = acos((apart**2 + a**2 - b**2) / (2.0 * apart * a))
    beta = acos((apart**2 + b**2 - a**2) / (2.0 * apart * b))
    kite = sqrt((-apart + a + b) * (apart + a - b) * (apart - a + b) * (apart + a + b))
    return a**2 * alpha + b**2 * beta - 0.5 * kite


@pytest.mark.parametrize("across", [0.0, -13.0])
@pytest.mark.parametrize("depth", [1.0, 3.3, 4.0])
def test_groove_in_a_round_port_is_a_circle_less_the_lens_it_shares_with_the_port(
    worked: Callable, depth: float, across: float
) -> None:
    bore = 20.0
    s = np.linspace(0.0, 90.0, 10)
    port = worked(s, [circle(2.0 * bore)] * 10, grooves(depth, across), roof=[(0, bore + 8), (90, bore + 8)])
    apart = bore - (R - depth)
    area = pi * R**2 - lens_mm2(bore, R, apart)
    # the ends: what of the ball's own discs lies beyond the bore
    step = R / 4000.0
    discs = [sqrt(R**2 - x**2) for x in step * (np.arange(4000) + 0.5)]
    ends = 2.0 * step * sum(pi * q**2 - lens_mm2(bore, q, apart) for q in discs if q + apart > bore)
    assert port.first.volume_mm3 == pytest.approx(area * (TO - FROM) + ends, rel=0.005)


@pytest.mark.parametrize("radius", [40.0])
@pytest.mark.parametrize("depth", [1.0, 3.3])
@pytest.mark.parametrize("side", ["roof", "floor"])
def test_groove_along_a_bend_is_pappus(worked: Callable, side: str, depth: float, radius: float) -> None:
    s = np.linspace(0.0, 90.0, 10)
    box = rectangle(40.0, 30.0, CornerRadii(3.0, 3.0, 3.0, 3.0))
    outward = 1.0 if side == "roof" else -1.0
    line = {side: [(0, outward * 25.0), (90, outward * 25.0)]}
    port = worked(s, [box] * 10, grooves(depth, 0.0, side=side), pitch_deg=np.degrees(s / radius), **line)
    wall = radius + outward * 15.0
    below = (np.arange(20_000) + 0.5) / 20_000 * depth
    width = 2.0 * np.sqrt(R**2 - (R - depth + below) ** 2)
    swept = float((width * (wall + outward * below)).sum()) * depth / 20_000 * (TO - FROM) / radius
    # both ends: the ball beyond the wall's cylinder, by discs along the cylinder's axis
    axis = wall - outward * (R - depth)
    x = (np.arange(4000) + 0.5) / 4000 * R
    ends = 0.0
    for q in np.sqrt(R**2 - x**2):
        if outward * (axis + outward * q - wall) > 0.0:
            shared = lens_mm2(wall, q, axis)
            ends += 2.0 * R / 4000 * ((pi * q**2 - shared) if side == "roof" else shared)
    assert port.first.volume_mm3 == pytest.approx(swept + ends, rel=0.003)
    k = port.slab(40.0)
    assert port.first.grooves[0].depth_mm[k] == pytest.approx(depth, abs=0.01)
    assert port.first.grooves[0].bottom_mm[k] == pytest.approx(15.0 + depth, abs=0.01)


# over a boss, radius 8 mm and 7 mm high


def boss_mm(s: Array, u: Array) -> Array:
    away = np.hypot(s - 30.0, u - 2.0)
    return np.where(away < 8.0, 7.0 * np.cos(pi * np.minimum(away, 8.0) / 16.0) ** 2, 0.0)


BOSS_AT = np.arange(0.0, 60.5, 1.0)
BOSSED = [topped(lambda u, x=x: 20.0 - boss_mm(np.full(len(u), x), u)) for x in BOSS_AT]


def groove_grid(rows: Sequence[float], depth: float, line: float, step: float = 0.1) -> float:
    """Volume of ball grooves over the boss by brute force: no point deeper than set, none over the line."""
    s = np.arange(12.0 - 6.0, 48.0 + 6.0, step) + 0.5 * step
    u = np.arange(-20.0, 20.0, step) + 0.5 * step
    places, across = np.meshgrid(s, u, indexing="ij")
    roof = 20.0 - boss_mm(places, across)
    top = roof.copy()
    inner = R - depth
    lattice = inner * np.linspace(-1.0, 1.0, 41)
    at = np.arange(12.0, 48.0 + 0.5 * step, step)
    for row in rows:
        axis = np.full(len(at), line - R)
        for ahead in lattice:
            for aside in lattice[lattice**2 <= inner**2 - ahead**2 + 1e-12]:
                room = sqrt(max(0.0, inner**2 - ahead**2 - aside**2))
                axis = np.minimum(axis, 20.0 - boss_mm(at + ahead, np.full(len(at), row + aside)) - room)
        for centre, height in zip(at, axis, strict=True):
            near = np.ix_(np.abs(s - centre) < R, np.abs(u - row) < R)
            square = R**2 - (places[near] - centre) ** 2 - (across[near] - row) ** 2
            ball = np.where(square > 0.0, height + np.sqrt(np.maximum(square, 0.0)), -np.inf)
            top[near] = np.maximum(top[near], ball)
    return float((top - roof).sum() * step**2)


@pytest.mark.parametrize(
    ("rows", "depth", "line", "leave"),
    [((2.0,), 3.3, 30.0, 0.5), ((-4.0, 2.0, 8.0), 3.3, 24.0, 1.0), ((2.0,), 1.0, 30.0, 0.5), ((5.0,), 4.0, 24.0, 1.0)],
)
def test_grooves_over_a_boss_agree_with_a_grid(
    worked: Callable, rows: tuple[float, ...], depth: float, line: float, leave: float
) -> None:
    run = {"from_mm": 12.0, "to_mm": 48.0, "leave_mm": leave}
    port = worked(BOSS_AT, BOSSED, grooves(depth, *rows, **run), roof=[(0, line), (60, line)])
    assert port.first.volume_mm3 == pytest.approx(groove_grid(rows, depth, line - leave), rel=0.006)


def dense(surface: Surface, rays: Array) -> Array:
    """Places 0.12 mm apart all over some rays of a surface, in the head frame."""
    world = surface.chart.planes.world_mm(surface.points_mm)[:, rays]
    for axis in (0, 1):
        after = np.concatenate([world.take(range(1, world.shape[axis]), axis), world.take([-1], axis)], axis=axis)
        between = [world + f * (after - world) for f in (0.0, 0.2, 0.4, 0.6, 0.8)]
        world = np.concatenate(between, axis=axis)
    return world.reshape(-1, 3)


@pytest.mark.parametrize("depth", [1.0, 3.3])
def test_no_point_of_a_groove_is_further_from_the_metals_surface_than_set(worked: Callable, depth: float) -> None:
    run = {"from_mm": 12.0, "to_mm": 48.0}
    s = np.linspace(0.0, 60.0, 7)
    leaning = [topped(lambda u, x=x: 20.0 + 0.3 * x - 0.2 * u) for x in s]
    ports = [
        worked(BOSS_AT, BOSSED, grooves(depth, 2.0, 7.0, **run), roof=[(0, 30), (60, 30)]),
        worked(s, leaning, grooves(depth, -3.0, **run), roof=[(0, 40), (60, 58)]),
        worked(s, [circle(40.0)] * 7, grooves(depth, -9.0, 0.0, **run), roof=[(0, 28), (60, 28)]),
        worked(s, [circle(40.0)] * 7, grooves(depth, -9.0, 0.0, **run), roof=[(0, 28), (60, 28)], pitch_deg=s),
        worked(s, [circle(40.0)] * 7, grooves(depth, 0.0, side="floor", **run), floor=[(0, -28), (60, -28)], yaw_deg=s),
    ]
    for port in ports:
        chart, before, after = port.port.chart, port.first.before, port.first.after
        cut = after.rho_mm > before.rho_mm + 1e-6
        met = np.flatnonzero(cut.any(axis=0))
        rays = np.arange(max(0, met[0] - 8), min(cut.shape[1], met[-1] + 9))
        away, _ = cKDTree(dense(before, rays)).query(chart.planes.world_mm(after.points_mm)[cut])
        # to the nearest of places 0.12 mm apart is further than to the surface by no more than this
        assert away.max() <= depth + 0.01 + 0.06**2 / depth
        assert away.max() >= depth - 0.03  # and somewhere it is as deep as set, between rays 0.6 mm apart


def test_no_point_of_a_groove_passes_the_line_less_what_is_left(worked: Callable) -> None:
    run = {"from_mm": 5.0, "to_mm": 55.0, "leave_mm": 0.8}
    line = [(0, 21.0), (20, 24.0), (40, 22.0), (60, 25.0)]
    port = worked(BOSS_AT, BOSSED, grooves(4.0, -8.0, 2.0, 9.0, **run), roof=line)
    points, s = port.first.after.points_mm, port.port.chart.distance_mm
    height = np.interp(s, *zip(*line, strict=True))[:, None]
    assert (points[..., 1] - height).max() <= -0.8 + 1e-6
    bottoms = [np.nanmax(g.bottom_mm - height[:, 0]) for g in port.first.grooves]
    assert max(bottoms) == pytest.approx(-0.8, abs=1e-6)


# levelling and blending


def box_roof_mm(u: Array) -> Array:
    beyond = np.maximum(np.abs(u) - 11.0, 0.0)
    return 15.0 + np.sqrt(np.maximum(100.0 - beyond**2, 0.0))


@pytest.mark.parametrize(
    ("depth", "overshoot", "leave"), [(3.3, 0.25, 4.6), (1.0, 0.4, 0.5), (3.3, 0.4, 3.0), (2.0, 0.6, 0.9)]
)
def test_levelling_agrees_with_a_grid_swept_by_a_ball_from_wall_to_wall(
    worked: Callable, depth: float, overshoot: float, leave: float
) -> None:
    r, step = 6.0, 0.1
    level = CutPass("level", "level", "roof", "ball 12", None, (), FROM, TO, None, leave, overshoot)
    cutters = [cutter("ball", 10.0), cutter("ball", 12.0, 12.0, "ball 12")]
    s = np.linspace(0.0, 100.0, 11)
    cut = grooves(depth, -10.0, 0.0, 10.0, leave_mm=0.5)
    port = worked(s, [BOX] * 11, cut, level, roof=[(0, 33), (100, 33)], cutters=cutters)
    # the middle of the ball goes from one radius off the left wall to one off the right, under the level and
    # held by the wanted roof, which is the present one 8 mm higher
    middle = np.linspace(-21.0 + r, 21.0 - r, 301)
    height = np.full(301, 25.0 + depth + overshoot - r)
    for aside in np.linspace(-r, r, 481):
        wanted = np.where(np.abs(middle + aside) <= 21.0, box_roof_mm(middle + aside) + 8.0 - leave, np.inf)
        height = np.minimum(height, wanted - sqrt(r**2 - aside**2))
    along = np.arange(FROM - r - 1.0, TO + r + 1.0, step)
    beyond = np.maximum(np.maximum(FROM - along, along - TO), 0.0)[:, None]
    across = np.arange(-21.0, 21.0, step) + 0.5 * step
    roof = np.broadcast_to(box_roof_mm(across), (len(along), len(across)))

    def swept(radius: float, places: Sequence[float], heights: Sequence[float]) -> tuple[Array, Array]:
        top, bottom = np.full(roof.shape, -np.inf), np.full(roof.shape, np.inf)
        for place, axis in zip(places, heights, strict=True):
            square = radius**2 - beyond**2 - (across - place) ** 2
            half = np.sqrt(np.where(square > 0.0, square, np.nan))
            top, bottom = np.fmax(top, axis + half), np.fmin(bottom, axis - half)
        return top, bottom

    grooved = np.maximum(roof, swept(R, (-10.0, 0.0, 10.0), [25.0 + depth - R] * 3)[0])
    top, bottom = swept(r, middle, height)
    expected = np.maximum(top - np.maximum(grooved, bottom), 0.0).sum() * step**2
    assert port.results[1].volume_mm3 == pytest.approx(expected, rel=0.005)
    assert port.results[1].rib.height_mm == pytest.approx(0.0, abs=0.01)
    highest = min(25.0 + depth + overshoot, 33.0 - leave)
    assert port.results[1].after.points_mm[..., 1].max() == pytest.approx(highest, abs=0.01)


@pytest.mark.parametrize("side", ["roof", "floor"])
def test_three_passes_round_a_bend_agree_with_a_grid_laid_round_it(worked: Callable, side: str) -> None:
    """Places of an annulus, each asked how wide a ball is there whose middle runs along an arc."""
    bend, depth, overshoot, h = 60.0, 2.0, 0.4, 4.0
    outward = 1.0 if side == "roof" else -1.0
    box = rectangle(40.0, 30.0, CornerRadii(0.0, 0.0, 0.0, 0.0))
    level = CutPass("level", "level", side, "ball 10", overshoot_mm=overshoot, leave_mm=0.5)
    blend = CutPass("blend", "blend", side, "ball 10", from_mm=0.0, to_mm=90.0)
    s = np.linspace(0.0, 90.0, 10)
    line = {side: [(0, outward * (15.0 + h)), (90, outward * (15.0 + h))]}
    cut = grooves(depth, -9.0, 0.0, 9.0, side=side)
    port = worked(s, [box] * 10, cut, level, blend, pitch_deg=np.degrees(s / bend), **line)
    wall, step = bend + outward * 15.0, 0.04
    turn = (np.arange(FROM - 12.0, TO + 12.0, step) + 0.5 * step)[:, None] / bend
    beyond = np.maximum(np.maximum(FROM / bend - turn, turn - TO / bend), 0.0)
    radius = wall + outward * (np.arange(0.0, h, step) + 0.5 * step)

    def half_mm(axis_up: float) -> Array:
        """Half the chord of a ball whose middle runs along an arc, at every turn and radius."""
        arc = wall + outward * axis_up
        square = radius**2 + arc**2 - 2.0 * radius * arc * np.cos(beyond)
        return np.sqrt(np.maximum(R**2 - square, 0.0))

    cell = radius / bend * step**2
    grooved = 3.0 * 2.0 * half_mm(depth - R)
    half = half_mm(depth + overshoot - R)
    levelled = np.where(half > 0.0, 30.0 + 2.0 * half, 0.0)  # from one radius off a wall to one off the other
    assert port.results[0].volume_mm3 == pytest.approx(float((cell * grooved).sum()), rel=0.003)
    assert port.results[1].volume_mm3 == pytest.approx(float((cell * (levelled - grooved)).sum()), rel=0.005)
    whole = 40.0 * h * 90.0 * (wall + outward * 0.5 * h) / bend  # Pappus
    assert port.results[2].total_mm3 == pytest.approx(whole, rel=0.002)  # sharp corners fall between rays


def test_levelling_where_it_may_not_go_below_the_grooves_leaves_the_rest_as_a_rib(worked: Callable) -> None:
    level = CutPass("level", "level", "roof", "ball 10", leave_mm=1.0)
    port = worked(STATIONS, ON_15, grooves(2.0, -8.0, 8.0, leave_mm=0.2), level, roof=[(0, 27.4), (100, 27.4)])
    # grooves end at 27.0, levelling at 26.4
    assert port.results[1].rib.height_mm == pytest.approx(0.6, abs=0.01)


@pytest.mark.parametrize("leave", [0.0, 0.4])
def test_blend_goes_to_the_line_and_leaves_its_own_radius_past_its_ends(worked: Callable, leave: float) -> None:
    h = 2.0 - leave
    blend = CutPass("blend", "blend", "roof", "ball 10", from_mm=FROM, to_mm=TO, leave_mm=leave)
    port = worked(STATIONS, ON_15, blend, roof=[(0, 27), (100, 27)])
    # the roof goes up as it is, 42 wide; past either end stands a circle's share
    expected = 42.0 * (h * (TO - FROM) + segment_mm2(h))
    assert port.first.volume_mm3 == pytest.approx(expected, rel=0.004)
    assert port.first.after.points_mm[..., 1].max() == pytest.approx(25.0 + h, abs=1e-9)


def test_sides_blended_one_by_one_add_up_to_the_whole(worked: Callable) -> None:
    wide = rectangle(45.0, 56.0, CornerRadii(9.0, 8.0, 10.0, 7.0))
    target = of_sections(wide)
    sides = ("roof", "left", "floor", "right")
    port = worked(STATIONS, ON_15, *(CutPass(s, "blend", s, "ball 10") for s in sides), target=target)
    assert port.results[-1].total_mm3 == pytest.approx((wide.area_mm2 - BOX.area_mm2) * 100.0, rel=0.002)
    assert port.results[-1].left_mm3 == pytest.approx(0.0, abs=1e-6)
    assert all(r.volume_mm3 > 0.0 for r in port.results)
