"""Stem and boss take of a section what their cut through its plane covers."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, radians, sin

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Guide
from portgeom.model.lofted import LoftedPort
from portgeom.questions.flow.blocked import Rod, blocked, rod_sections
from portgeom.questions.flow.whole import FlowAnswers

from .conftest import VALVE

SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)


def cut_at(port: LoftedPort, distance: float, rod: Rod) -> np.ndarray | None:
    cuts = rod_sections(port.cast.surface, rod)
    found = cuts.points_mm[cuts.slab == port.chart.slab_at(distance)]
    return found[0] if len(found) else None


def area_of(points: np.ndarray) -> float:
    x, y = points.T
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


@pytest.fixture(scope="module")
def box(lofted: Callable[..., LoftedPort]) -> LoftedPort:
    return lofted([0.0, 100.0], [rectangle(60.0, 50.0, SHARP)] * 2)


@pytest.mark.parametrize("lean", [0.0, 20.0, 60.0, 80.0])
def test_a_leaning_rod_cuts_a_plane_in_an_ellipse(box: LoftedPort, lean: float) -> None:
    axis = np.array([sin(radians(lean)), cos(radians(lean)), 0.0])
    rod = Rod(np.array([0.0, 50.0, 0.0]) - 200.0 * axis, axis, 400.0, 8.0)
    cut = cut_at(box, 50.0, rod)
    assert cut is not None
    assert area_of(cut) == pytest.approx(pi / 4 * 8.0**2 / cos(radians(lean)), rel=5e-4)
    assert cut.mean(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)


def test_a_rod_across_the_flow_cuts_a_plane_in_a_strip(box: LoftedPort) -> None:
    # 2 mm off its axis an 8 mm rod is 2 sqrt(16 - 4) mm wide; it hangs 30 mm into the plane
    rod = Rod(np.array([5.0, 50.0, 25.0]), np.array([0.0, 0.0, -1.0]), 30.0, 8.0)
    cut = cut_at(box, 52.0, rod)
    assert cut is not None
    assert area_of(cut) == pytest.approx(30.0 * 2.0 * np.sqrt(16.0 - 4.0), rel=1e-9)
    assert cut.mean(axis=0) == pytest.approx([5.0, 10.0], abs=1e-9)


def test_a_plane_beside_the_rod_is_not_cut(box: LoftedPort) -> None:
    rod = Rod(np.array([0.0, 50.0, 25.0]), np.array([0.0, 0.0, -1.0]), 30.0, 8.0)
    assert cut_at(box, 56.0, rod) is None


def test_without_a_guide_the_stem_stands_on_the_throats_axis(narrowing: Callable[..., FlowAnswers]) -> None:
    state = narrowing(job={"valves": (VALVE,)}).state
    assert state.blocked.assumed
    throat = state.along.sections.throat
    assert state.blocked.area_mm2[throat] == pytest.approx(pi / 4 * 8.0**2, rel=5e-4)


def test_only_what_lies_inside_the_section_is_taken(box: LoftedPort) -> None:
    from dataclasses import replace

    # a boss of 20 mm, half of it in the roof: its axis runs along the roof
    guide = Guide(np.array([[0.0, 10.0, 25.0], [0.0, 90.0, 25.0]]), 20.0, 60.0)
    port = replace(box, port=replace(box.port, guide=guide))
    taken = blocked(port, port.cast.surface, None)
    assert (taken.boss, taken.stem, taken.assumed) == (True, False, False)
    assert taken.area_mm2[box.chart.slab_at(40.0)] == pytest.approx(0.5 * pi / 4 * 20.0**2, rel=5e-4)
    assert taken.area_mm2[box.chart.slab_at(80.0)] == 0.0


def test_nothing_given_takes_nothing(narrowing: Callable[..., FlowAnswers]) -> None:
    assert not narrowing().state.blocked.area_mm2.any()


def test_arrays_are_read_only(narrowing: Callable[..., FlowAnswers]) -> None:
    assert not narrowing().state.blocked.area_mm2.flags.writeable
