"""Straight ports whose best cut can be worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.propose_values import Wishes
from portgeom.job.values import Accuracy, CutPass, Cutter, Hazard, Job, Port, Stage
from portgeom.model.lofted import loft_job
from portgeom.questions.propose.propose import Proposal, propose
from portgeom.questions.reach.corners import SURE_MM, corners_to_cut

WIDTH, HEIGHT, LENGTH = 36.0, 48.0, 100.0
RADIUS = 8.0
BOX = rectangle(WIDTH, HEIGHT, CornerRadii(RADIUS, RADIUS, RADIUS, RADIUS))
CORNERS = (4.0 - np.pi) * RADIUS**2
AREA = WIDTH * HEIGHT - CORNERS
EXACT = Accuracy(gauge_mm=0.0, tool_bias_mm=0.0, trace_mm=0.0, distance_mm=0.0, pitch_deg=0.0, pour_cc=0.0)
MIN_WALL = 3.0

Tables = Callable[..., object]


def plane(name: str, point: tuple[float, float, float], normal: tuple[float, float, float], *ports: str) -> Hazard:
    return Hazard(name, "plane", ports=ports, point_mm=np.array(point), normal=np.array(normal))


def box_job(table_of: Tables, hazards: tuple[Hazard, ...], *, mirrored: tuple[bool, ...] = (False,)) -> Job:
    table = table_of(np.arange(0.0, LENGTH + 1.0, 20.0), [BOX] * 6, pitch_deg=0.0)
    ports = tuple(
        Port(str(k + 1), "intake", (Stage("as cast", table),), position_mm=np.array([100.0 * k, 0.0, 0.0]), mirrored=m)
        for k, m in enumerate(mirrored)
    )
    return Job(Path(), "boxes", "mm", "grey iron", 7.2, ports, hazards=hazards, min_wall_mm=MIN_WALL, accuracy=EXACT)


def asked(job: Job, wishes: Wishes, *, matched: bool = False) -> Proposal:
    ports = loft_job(job)
    return propose(job, ports, [(p, p.cast) for p in ports], wishes, matched=matched)


def flat(area_mm2: float, **more: object) -> Wishes:
    """Return wishes for one area from end to end, met as stated and no more."""
    return Wishes(entry_area_mm2=area_mm2, throat_area_mm2=area_mm2, taper_percent=0.0, **more)


def test_a_thin_roof_takes_what_it_can_and_the_sides_the_rest(table_of: Tables) -> None:
    """Rocker floor 1 mm beyond the limit: the roof, preferred, goes up 1 mm, the sides give what is lacking.

    By hand, corners keep their radius: (width + 2 x)(height + 1) = area + corners, cc = (area - width height) length.
    """
    spare, area = 1.0, 1.08 * AREA
    above = plane("rocker floor", (0.0, 0.0, 0.5 * HEIGHT + MIN_WALL + spare), (0.0, 0.0, 1.0))
    found = asked(box_job(table_of, (above,)), flat(area))
    side = 0.5 * ((area + CORNERS) / (HEIGHT + spare) - WIDTH)
    (one,) = found.ports
    assert found.found.blame is None
    roof, left, right = (one.model.line(i, one.cut_mm) for i in range(3))
    assert roof == pytest.approx(spare, rel=0.01)
    assert left == pytest.approx(side, rel=0.01)
    assert right == pytest.approx(side, rel=0.01)
    assert one.removal.volume_mm3 == pytest.approx((area - AREA) * LENGTH, rel=0.01)
    assert one.walls.least is not None
    assert one.walls.least.least is not None
    assert one.walls.least.least.wall_mm >= MIN_WALL - 0.01


def test_a_thin_side_leaves_the_other_side_to_give(table_of: Tables) -> None:
    """Pushrod hole 1 mm beyond the limit on the right and no roof to go: left = lack / height - 1."""
    spare, area = 1.0, 1.07 * AREA
    beside = plane("pushrod hole", (0.5 * WIDTH + MIN_WALL + spare, 0.0, 0.0), (1.0, 0.0, 0.0))
    found = asked(box_job(table_of, (beside,)), flat(area, most_roof_mm=0.0))
    (one,) = found.ports
    assert one.model.line(1, one.cut_mm) == pytest.approx(((area - AREA) / HEIGHT) - spare, rel=0.01)
    assert one.model.line(2, one.cut_mm) == pytest.approx(spare, rel=0.01)


def test_a_pair_that_mirrors_each_other_is_cut_as_mirror_images(table_of: Tables) -> None:
    spare = 0.3
    outer = 0.5 * WIDTH + MIN_WALL + spare
    hazards = (
        plane("pushrod hole 1", (-outer, 0.0, 0.0), (-1.0, 0.0, 0.0), "1"),
        plane("pushrod hole 2", (100.0 + outer, 0.0, 0.0), (1.0, 0.0, 0.0), "2"),
    )
    job = box_job(table_of, hazards, mirrored=(True, False))
    found = asked(job, flat(1.06 * AREA, most_roof_mm=0.5), matched=True)
    first, second = ([p.model.line(i, p.cut_mm) for i in range(4)] for p in found.ports)
    for mine, other in ((0, 0), (1, 2), (2, 1)):
        assert first[mine] == pytest.approx(second[other], rel=0.01, abs=0.005)
    volumes = [p.removal.volume_mm3 for p in found.ports]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-3)


def test_what_cannot_be_had_says_by_how_much_it_must_give(table_of: Tables) -> None:
    """At most 0.5 mm off the roof and 0.4 off each side: area falls short of what is asked by what these leave.

    By hand: best = (width + 0.8)(height + 0.5) - corners. Alone, the sides would have to go x, with
    (width + 2 x)(height + 0.5) = area + corners, so give x - 0.4; the roof would have to go y, with
    (width + 0.8)(height + y) = area + corners, so give y - 0.5.
    """
    area = 1.08 * AREA
    found = asked(box_job(table_of, ()), flat(area, most_roof_mm=0.5, most_side_mm=0.4))
    blame = found.found.blame
    assert blame is not None
    by_kind = {r.kind: r.by for r in blame.reliefs}
    best = (WIDTH + 0.8) * (HEIGHT + 0.5) - CORNERS
    assert by_kind["area"] == pytest.approx(100.0 * (1.0 - best / area), rel=0.01)
    assert by_kind["most side"] == pytest.approx(0.5 * ((area + CORNERS) / (HEIGHT + 0.5) - WIDTH) - 0.4, rel=0.01)
    assert by_kind["most roof"] == pytest.approx((area + CORNERS) / (WIDTH + 0.8) - HEIGHT - 0.5, rel=0.01)
    (taken,) = blame.taken
    assert taken.kind == "area"
    assert found.ports[0].removal.smallest_after.area_mm2 == pytest.approx(best, rel=0.002)


def test_a_wall_that_is_too_thin_already_is_left_alone(table_of: Tables) -> None:
    beside = plane("pushrod hole", (0.5 * WIDTH + MIN_WALL - 0.5, 0.0, 0.0), (1.0, 0.0, 0.0))
    found = asked(box_job(table_of, (beside,)), flat(1.05 * AREA, most_roof_mm=0.0))
    (one,) = found.ports
    assert one.model.gauges[0].short_mm == pytest.approx(0.5, abs=1e-6)
    assert np.abs(one.model.line(2, one.cut_mm)).max() < 0.01


def test_the_same_question_has_the_same_answer(table_of: Tables) -> None:
    above = plane("rocker floor", (0.0, 0.0, 0.5 * HEIGHT + MIN_WALL + 1.0), (0.0, 0.0, 1.0))
    job, wishes = box_job(table_of, (above,)), flat(1.08 * AREA)
    once, again = asked(job, wishes), asked(replace(job), wishes)
    assert np.array_equal(once.ports[0].cut_mm, again.ports[0].cut_mm)


def cutter(name: str, shape: str, rate: float | None = None) -> Cutter:
    return Cutter(name, shape, 10.0, 20.0, 6.0, 150.0, rate_cc_per_min=rate)


def test_the_least_minutes_leave_the_slow_side_alone(table_of: Tables) -> None:
    """The roof's cutter is four times slower than the sides': what the roof would give for a cc, they give for less.

    By hand: (width + 2 x) height - corners = area; minutes are cc over the sides' rate.
    """
    slow, quick = cutter("ball", "ball", 0.5), cutter("oval", "oval", 2.0)
    passes = (
        CutPass("roof", "blend", "roof", "ball"),
        CutPass("left", "blend", "left", "oval"),
        CutPass("right", "blend", "right", "oval"),
        CutPass("floor", "blend", "floor", "oval"),
    )
    job = replace(box_job(table_of, ()), cutters=(slow, quick), passes=passes)
    area = 1.06 * AREA
    found = asked(job, flat(area, minutes=True, roof_over_sides_percent=0.0, outside_of_bend_percent=0.0))
    (one,) = found.ports
    side = 0.5 * (area - AREA) / HEIGHT
    assert np.abs(one.model.line(0, one.cut_mm)).max() < 0.01
    assert one.model.line(1, one.cut_mm) == pytest.approx(side, rel=0.01)
    assert found.found.answer.state.cost == pytest.approx((area - AREA) * LENGTH / 1000.0 / 2.0, rel=0.01)
    assert found.found.problem.prices[0].unit == "minutes"


def test_a_raised_roof_has_corners_that_a_cutter_can_leave(table_of: Tables) -> None:
    """As cast 3 mm, the smallest cutter 5 mm: the roof's corners are recut, those of the floor are told."""
    sharp = rectangle(WIDTH, HEIGHT, CornerRadii(3.0, 3.0, 3.0, 3.0))
    table = table_of(np.arange(0.0, LENGTH + 1.0, 20.0), [sharp] * 6, pitch_deg=0.0)
    port = Port("1", "intake", (Stage("as cast", table),), position_mm=np.zeros(3))
    job = Job(Path(), "box", "mm", "grey iron", 7.2, (port,), cutters=(cutter("ball", "ball"),), accuracy=EXACT)
    area = sharp.area_mm2 * 1.05
    (one,) = asked(job, flat(area, most_roof_mm=1.0)).ports
    assert one.target.corner_radius is not None
    assert one.target.corner_radius.rows[:, 1].min() >= 5.0
    present = one.stage.surface
    corners = corners_to_cut(present, one.removal.after)
    assert corners.radius_mm[5:-5, [0, 3]].min() >= 5.0 - SURE_MM
    assert one.removal.smallest_after.area_mm2 == pytest.approx(area, rel=2e-3)
    assert one.corners.tight
    assert all(90.0 < c.clock_deg < 270.0 for c in one.corners.tight)
