"""Where the roof ends along the port, and why."""

from __future__ import annotations

from collections.abc import Callable
from math import radians
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.values import Guide, Job, SectionTable
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.roof_end import RoofEnd, roof_end

Jobs: TypeAlias = Callable[..., Job]
Tables: TypeAlias = Callable[..., SectionTable]
RADIUS = 60.0


@pytest.fixture
def end_of(job_of: Jobs, table_of: Tables) -> Callable[..., RoofEnd]:
    """Return a function that says where the roof of a bend ends: 60 mm straight, then 90 degrees."""

    def end(turn: float = 90.0, **port: object) -> RoofEnd:
        pitch = np.concatenate([np.zeros(5), np.linspace(0.0, turn, 8)[1:]])
        s = np.concatenate([np.linspace(0.0, 60.0, 5), 60.0 + RADIUS * np.radians(np.linspace(0.0, turn, 8))[1:]])
        lofted: LoftedPort = loft_job(job_of(table_of(s, [circle(40.0)] * 12, pitch_deg=pitch), **port))[0]
        return roof_end(lofted.chart, lofted.port)

    return end


def test_it_ends_where_the_flow_has_turned_45_degrees(end_of: Callable[..., RoofEnd]) -> None:
    end = end_of()
    assert end.distance_mm == pytest.approx(60.0 + RADIUS * radians(45.0), abs=0.5)
    assert end.distance_mm <= 60.0 + RADIUS * radians(45.0)
    assert "turned 45 degrees" in end.reason


def test_it_ends_at_the_last_station_of_a_port_that_turns_less(end_of: Callable[..., RoofEnd]) -> None:
    end = end_of(turn=40.0)
    assert end.distance_mm == pytest.approx(60.0 + RADIUS * radians(40.0))
    assert end.reason == "the last station lies"


def test_it_ends_where_the_job_says(end_of: Callable[..., RoofEnd]) -> None:
    end = end_of(roof_end_mm=47.3)
    assert 47.3 - 0.5 < end.distance_mm <= 47.3
    assert end.reason == "the job says it ends"


def test_a_word_of_the_job_beyond_the_turn_changes_nothing(end_of: Callable[..., RoofEnd]) -> None:
    assert end_of(roof_end_mm=140.0) == end_of()


@pytest.mark.parametrize("length", [5.0, 12.0])
def test_it_ends_before_the_guide_s_boss(end_of: Callable[..., RoofEnd], length: float) -> None:
    # a boss of 14 mm whose axis runs straight down at y = 50: the plane of y = 43 is the first to meet it
    axis = np.array([[0.0, 50.0, 20.0], [0.0, 50.0, -30.0]])
    end = end_of(guide=Guide(axis, 14.0, length))
    assert end.distance_mm == pytest.approx(50.0 - 7.0, abs=0.5)
    assert end.distance_mm < 43.0 + 1e-9
    assert "guide's boss" in end.reason


def test_a_leaning_boss_is_met_where_its_rim_is(end_of: Callable[..., RoofEnd]) -> None:
    # axis leaning 30 degrees back towards the face over 10 mm; the rim stands out by 7 cos 30
    axis = np.array([[0.0, 50.0, 20.0], [0.0, 50.0 - np.sin(radians(30.0)), 20.0 - np.cos(radians(30.0))]])
    end = end_of(guide=Guide(axis, 14.0, 10.0))
    assert end.distance_mm == pytest.approx(50.0 - 10.0 * 0.5 - 7.0 * np.cos(radians(30.0)), abs=0.5)


def test_a_boss_out_of_the_port_s_reach_changes_nothing(end_of: Callable[..., RoofEnd]) -> None:
    axis = np.array([[0.0, -50.0, 20.0], [0.0, -50.0, -30.0]])
    assert end_of(guide=Guide(axis, 14.0, 5.0)) == end_of()
