"""Whole plans: what passes add up to, what walls hold back, and which passes are refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.surface import Surface
from portgeom.job.faults import JobError
from portgeom.job.units import told
from portgeom.job.values import CutPass, Cutter, Hazard
from portgeom.questions.cutting.lead import Lead, Sheet, axis_at_depth_mm
from portgeom.questions.cutting.side import grid_lines_mm, heights_of, side_axes

S = np.linspace(0.0, 100.0, 11)
BOX = [rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 6.0, 6.0))] * 11
ROOF = [(0, 31), (100, 31)]
GROOVE = CutPass("grooves", "grooves", "roof", "ball 10")
LEVEL = CutPass("level", "level", "roof", "ball 10")
BLEND = CutPass("blend", "blend", "roof", "ball 10")
THREE = (GROOVE, LEVEL, BLEND)


def bossed(s: float, half: float = 21.0) -> Outline:
    u = np.linspace(half, -half, 85)
    away = np.hypot(s - 50.0, u - 3.0)
    roof = 25.0 - np.where(away < 8.0, 7.0 * np.cos(pi * np.minimum(away, 8.0) / 16.0) ** 2, 0.0)
    return Outline.polygon([*zip(u, roof, strict=True), (-half, -25.0), (half, -25.0)])


BOSS_AT = np.array([0, 20, 38, 40, *range(41, 60), 60, 62, 80, 100], dtype=float)
PORTS = {
    "flat": (S, BOX, {}),
    "boss": (BOSS_AT, [bossed(s) for s in BOSS_AT], {}),
    "round": (S, [circle(44.0)] * 11, {}),
    "bend": (S, BOX, {"pitch_deg": 0.7 * S}),
    "yawed": (S, BOX, {"yaw_deg": 0.5 * S}),
}


@pytest.mark.parametrize("name", PORTS)
def test_three_passes_to_a_roof_line_add_up_to_what_was_to_come_off(worked: Callable, name: str) -> None:
    s, outlines, angles = PORTS[name]
    port = worked(s, outlines, *THREE, roof=[(0, 28), (50, 31), (100, 29)], **angles)
    last = port.results[-1]
    assert last.total_mm3 == pytest.approx(port.removal_mm3(), rel=0.003)
    assert last.left_mm3 == pytest.approx(0.0, abs=1e-6)
    volumes = [r.volume_mm3 for r in port.results]
    assert min(volumes) > 0.0
    assert [r.total_mm3 for r in port.results] == pytest.approx(np.cumsum(volumes).tolist(), rel=1e-12)
    for r in port.results:
        assert r.total_mm3 + r.left_mm3 == pytest.approx(last.total_mm3, rel=1e-6)
        assert r.mass_g == pytest.approx(r.volume_mm3 / 1000.0 * 7.2)
        # the surface after a pass is one like any other: its own volume has grown by what came off
        grown = float(r.after.volume_mm3.sum() - port.stage.surface.volume_mm3.sum())
        assert grown == pytest.approx(r.total_mm3, rel=1e-9)


def test_usual_plan_of_a_flat_roof_takes_its_rise_times_its_width(worked: Callable) -> None:
    port = worked(S, BOX, roof=ROOF, cutters=[])
    assert port.results[-1].total_mm3 == pytest.approx(6.0 * 42.0 * 100.0, rel=0.001)


def test_area_after_every_pass_never_shrinks_anywhere(worked: Callable) -> None:
    s, outlines, angles = PORTS["boss"]
    port = worked(s, outlines, roof=[(0, 28), (100, 32)], cutters=[], **angles)
    before = port.stage.surface
    for r in port.results:
        assert (r.after.area_mm2 >= before.area_mm2 - 1e-9).all()
        assert (r.after.rho_mm >= before.rho_mm - 1e-12).all()
        before = r.after


def test_passes_repeated_take_nothing_more(worked: Callable) -> None:
    again = replace(BLEND, name="again")
    port = worked(S, BOX, *THREE, again, roof=ROOF)
    assert port.named("again").volume_mm3 == pytest.approx(0.0, abs=1e-9)


def test_minutes_are_the_volume_at_the_users_own_rate(worked: Callable) -> None:
    slow = Cutter("ball 10", "ball", 10.0, 10.0, 6.0, 100.0, rate_cc_per_min=0.9)
    port = worked(S, BOX, GROOVE, roof=ROOF, cutters=[slow])
    assert port.first.minutes == pytest.approx(port.first.volume_mm3 / 1000.0 / 0.9)
    assert worked(S, BOX, GROOVE, roof=ROOF).first.minutes is None


def test_a_later_stage_is_cut_from_what_was_measured_then(worked: Callable) -> None:
    later = [rectangle(42.0, 54.0, CornerRadii(10.0, 10.0, 6.0, 6.0))] * 11  # roof at 27, floor at -27
    port = worked(S, BOX, *THREE, roof=ROOF, later=later)
    assert port.stage.stage.name == "stage 2"
    assert port.results[-1].total_mm3 == pytest.approx(4.0 * 42.0 * 100.0, rel=0.002)
    assert np.nanmax(port.first.grooves[1].bottom_mm) == pytest.approx(27.0 + 0.55 * 4.0, abs=0.01)


def test_without_a_target_the_bridge_is_cut_to(worked: Callable) -> None:
    s, outlines, _ = PORTS["boss"]
    port = worked(s, outlines, *THREE)
    assert port.wanted.line_from == "bridge"
    assert port.results[-1].total_mm3 == pytest.approx(port.removal_mm3(), rel=0.01)
    # of the boss itself: 2 pi times the integral of 7 cos^2(pi r / 16) r
    r = (np.arange(80_000) + 0.5) * 1e-4
    boss = 2.0 * pi * float((7.0 * np.cos(pi * r / 16.0) ** 2 * r).sum()) * 1e-4
    assert port.results[-1].total_mm3 == pytest.approx(boss, rel=0.05)  # stations 1 mm apart


# walls behind


def plane_at(z: float) -> Hazard:
    return Hazard("rocker floor", "plane", point_mm=np.array([0.0, 50.0, z]), normal=np.array([0.0, 0.0, 1.0]))


def hole(x: float, y: float, bottom: float) -> Hazard:
    ends = {"start_mm": np.array([x, y, bottom]), "end_mm": np.array([x, y, bottom + 40.0])}
    return Hazard("bolt hole", "cylinder", diameter_mm=11.0, **ends)


def hazards(*behind: Hazard, respect: bool = True, least: float = 3.0) -> dict[str, object]:
    return {"hazards": behind, "min_wall_mm": least, "respect_walls": respect}


def test_walls_respected_keep_their_least_and_what_that_costs_is_told(worked: Callable) -> None:
    behind = plane_at(32.0), hole(2.0, 40.0, 33.0)  # the plane allows 29.0, the hole 30.0
    port = worked(S, BOX, *THREE, roof=ROOF, job=hazards(*behind))
    for r in port.results:
        for wall in r.walls.walls:
            assert wall.least.wall_mm >= 3.0 - 0.02
    assert port.results[-1].walls.walls[0].least.wall_mm == pytest.approx(3.0, abs=0.02)
    # all that stands over 29.0: 2 mm of 42 by 100, corners of radius 10 beside it a little more
    cost = port.plan.kept_back
    assert cost is not None
    assert port.results[-1].left_mm3 == pytest.approx(cost.volume_mm3, rel=1e-3)
    flat = 42.0 - 2.0 * 10.0
    assert flat * 2.0 * 100.0 < cost.volume_mm3 < 42.0 * 2.0 * 100.0
    assert cost.smallest_mm2 == pytest.approx(cost.volume_mm3 / 100.0, rel=0.01)


@pytest.mark.parametrize("across", [2.0, 9.0])
def test_walls_respected_keep_a_hole_its_metal_all_round(worked: Callable, across: float) -> None:
    port = worked(S, BOX, *THREE, roof=ROOF, job=hazards(hole(across, 40.0, 30.0)))
    free = worked(S, BOX, *THREE, roof=ROOF, job=hazards(hole(across, 40.0, 30.0), respect=False))
    assert free.results[-1].walls.walls[0].least.wall_mm < 0.0
    assert free.plan.kept_back is None
    for r in port.results:
        assert r.walls.walls[0].least.wall_mm >= 3.0 - 0.02
        # a second road: the standing hole's distance in closed form, all over the surface round it
        x, y, z = patches(r.after)
        aside, below = np.hypot(x - across, y - 40.0) - 5.5, 30.0 - z
        wall = np.where(below > 0.0, np.hypot(np.maximum(aside, 0.0), below), aside)
        assert wall.min() == pytest.approx(r.walls.walls[0].least.wall_mm, abs=0.005)
    assert 0.0 < port.plan.kept_back.volume_mm3 < 1500.0  # no more than a dome round the hole


def patches(surface: Surface, parts: int = 10) -> np.ndarray:
    """Return points (3, n) all over a stretch of a surface, taken as flat from place to place of its grid."""
    nodes = surface.chart.planes.world_mm(surface.points_mm)[np.abs(surface.chart.distance_mm - 40.0) < 12.0]
    share = np.linspace(0.0, 1.0, parts + 1)
    a, b = (x.reshape(-1, 1, 1, 1) for x in np.meshgrid(share, share))
    here, beside = (n[:-1] + a * (n[1:] - n[:-1]) for n in (nodes, np.roll(nodes, -1, axis=1)))
    return (here + b * (beside - here)).reshape(-1, 3).T


def test_stop_is_the_depth_at_which_the_cutter_leaves_the_least_wall(worked: Callable) -> None:
    # a plane 9 above the roof: 6 may be cut anywhere
    port = worked(S, BOX, GROOVE, roof=ROOF, job=hazards(plane_at(34.0), respect=False))
    for groove in port.first.grooves:
        assert groove.stop_mm[groove.runs] == pytest.approx(np.full(groove.runs.sum(), 6.0), abs=0.01)
    # a flat-bottomed hole of radius 5.5, its bottom 4 above the roof, beside the row: from the middle of a ball of
    # radius 5 sunk by d, at 25 - 5 + d, its rim is 1.5 aside and 9 - d above; metal 3 is 8 from the middle
    port = worked(S, BOX, replace(GROOVE, across_mm=(-5.0,)), roof=ROOF, job=hazards(hole(2.0, 40.0, 29.0)))
    k = port.slab(40.0)
    expected = 9.0 - np.sqrt(8.0**2 - 1.5**2)
    assert port.first.grooves[0].stop_mm[k] == pytest.approx(expected, abs=0.01)
    assert port.first.grooves[0].depth_mm[k] <= expected + 0.02


def test_without_hazards_there_is_no_stop_and_no_wall(worked: Callable) -> None:
    port = worked(S, BOX, GROOVE, roof=ROOF)
    assert np.isinf(port.first.grooves[0].stop_mm).all()
    assert port.first.walls.least is None
    assert port.plan.kept_back is None


# refused


def refused(worked: Callable, *passes: CutPass, **more: object) -> list[str]:
    with pytest.raises(JobError) as error:
        _ = worked(S, BOX, *passes, **({"roof": ROOF} | more)).plan
    assert all(f.file == "job.toml" for f in error.value.faults)
    return [told(f"{f.field}: {f.found}", "mm") for f in error.value.faults]


def test_runs_off_the_path_are_named(worked: Callable) -> None:
    off = replace(GROOVE, from_mm=-1.0), replace(LEVEL, to_mm=101.0), replace(BLEND, from_mm=60.0, to_mm=50.0)
    assert refused(worked, *off) == [
        "pass 'grooves': from: -1 mm is off the path",
        "pass 'level': to: 101 mm is off the path",
        "pass 'blend': to: 50 mm does not lie beyond from, 60 mm",
    ]


def test_a_cutter_wider_than_the_port_is_named_whatever_else_is_wrong(worked: Callable) -> None:
    wide = Cutter("ball 10", "ball", 42.0, 42.0, 6.0, 100.0)
    found = refused(worked, replace(GROOVE, from_mm=-1.0), BLEND, cutters=[wide])
    assert found[0] == "pass 'grooves': from: -1 mm is off the path"
    assert found[1].startswith("pass 'blend': cutter: is 42 mm wide, and port 1 is 42.0 mm")


def test_the_usual_plan_takes_the_first_ball_that_fits(worked: Callable) -> None:
    wide, fits = (Cutter(name, "ball", d, d, 6.0, 100.0) for name, d in (("ball 44", 44.0), ("ball 12", 12.0)))
    port = worked(S, BOX, roof=ROOF, cutters=[wide, fits])
    assert {r.plan.cutter.name for r in port.results} == {"ball 12"}


def test_the_usual_plan_is_refused_where_no_cutter_of_the_job_fits(worked: Callable) -> None:
    wide = Cutter("ball 44", "ball", 44.0, 44.0, 6.0, 100.0)
    assert refused(worked, cutters=[wide]) == ["cutter 'ball 44': is 44 mm wide, and port 1 is 42.0 mm at 0.0 mm"]


@pytest.mark.parametrize(
    ("side", "across", "neighbour"),
    [("roof", 16.5, "a side wall"), ("floor", -16.5, "a side wall"), ("left", 26.5, "the roof or the floor")],
)
def test_rows_outside_the_walls_are_named(worked: Callable, side: str, across: float, neighbour: str) -> None:
    found = refused(worked, replace(GROOVE, side=side, across_mm=(across,)))
    assert found == [f"pass 'grooves': across: {across:g} mm brings the cutter into {neighbour} of port 1"]


def test_rows_between_the_walls_are_not_refused(worked: Callable) -> None:
    for side, across in (("roof", 15.9), ("floor", -15.9), ("left", 19.9), ("right", -19.9)):
        assert worked(S, BOX, replace(GROOVE, side=side, across_mm=(across,)), roof=ROOF).results


def test_levelling_without_grooves_before_it_on_that_side_is_named(worked: Callable) -> None:
    assert refused(worked, replace(GROOVE, side="floor"), LEVEL)[0].startswith("pass 'level': kind: levels the ribs")


def test_sizes_that_a_pass_of_its_kind_does_not_use_are_named(worked: Callable) -> None:
    found = refused(worked, GROOVE, replace(LEVEL, depth_mm=1.0), replace(BLEND, overshoot_mm=0.3))
    assert found[0].startswith("pass 'level': depth: only grooves are set to a depth")
    assert found[1].startswith("pass 'blend': overshoot: only levelling goes below")


def test_a_straight_cutter_longer_than_its_run_is_named(worked: Callable) -> None:
    long = Cutter("ball 10", "cylinder", 10.0, 25.0, 6.0, 100.0)
    found = refused(worked, replace(GROOVE, from_mm=20.0, to_mm=40.0), cutters=[long])
    assert found[0].startswith("pass 'grooves': cutter: is straight over 25 mm")


# how high a cutter is led


def test_cutters_of_other_shapes_go_nowhere_deeper_than_set(worked: Callable) -> None:
    s = np.linspace(0.0, 100.0, 11)
    u = np.linspace(20.0, -20.0, 81)
    sloped = [Outline.polygon([*zip(u, 20 + 0.2 * x + 0 * u, strict=True), (-20, -15), (20, -15)]) for x in s]
    for shape in ("cylinder", "round-nose cylinder", "oval", "arch round nose", "flame", "cone"):
        odd = Cutter("ball 10", shape, 10.0, 16.0, 6.0, 100.0)
        one = replace(GROOVE, across_mm=(0.0,), depth_mm=2.0, leave_mm=0.1, from_mm=20.0, to_mm=80.0)
        port = worked(s, sloped, one, roof=[(0, 30), (100, 50)], cutters=[odd])
        points = port.first.after.points_mm
        height = 20.0 + 0.2 * port.port.chart.distance_mm[:, None]
        deep = (points[..., 1] - height) / np.hypot(1.0, 0.2)
        assert 1.0 < deep.max() <= 2.0 + 0.01


def test_axis_of_a_ball_under_a_flat_sheet_is_its_radius_less_the_depth_below(worked: Callable) -> None:
    port = worked(S, BOX, GROOVE, roof=ROOF)
    chart, body = port.port.chart, port.first.plan.body
    grid = grid_lines_mm(list(port.stage.surface.points_mm), "roof")
    now = heights_of(port.stage.surface.points_mm, "roof", grid)
    sheet = Sheet.of(chart, side_axes(chart, "roof"), grid, now.height_mm)
    lead = Lead.laid(chart, now, np.array([30.1, 50.0]), np.array([0.0, 2.2]))
    for depth in (0.0, 3.0, 5.0, 7.0):  # deeper than its radius too
        axis = axis_at_depth_mm(sheet, lead, body, np.full(2, depth))
        assert axis == pytest.approx(np.full(2, 25.0 - 5.0 + depth), abs=1e-9)
