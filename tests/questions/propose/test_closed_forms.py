"""Straight ports whose best cut can be worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.propose_values import Wishes
from portgeom.job.values import Accuracy, Hazard, Job, Port, Stage
from portgeom.model.lofted import loft_job
from portgeom.questions.propose.propose import Proposal, propose

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
