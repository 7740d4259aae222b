"""Ports built from tables: one path, one chart, and every table that does not fit told at once."""

from __future__ import annotations

from collections.abc import Callable
from math import pi
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.told_lengths import mm
from portgeom.job.faults import JobError
from portgeom.job.values import Job, SectionTable, Target
from portgeom.model.lofted import loft_job, path_of

Tables: TypeAlias = Callable[..., SectionTable]
Jobs: TypeAlias = Callable[..., Job]
S = np.linspace(0.0, 90.0, 7)
ROUND = [circle(44.0)] * 7


def faults_of(job: Job) -> list[tuple[int | None, str, str]]:
    with pytest.raises(JobError) as refused:
        loft_job(job)
    return [(f.row, f.field, f.found) for f in refused.value.faults]


def test_the_path_starts_where_the_port_is(table_of: Tables, job_of: Jobs) -> None:
    (port,) = loft_job(job_of(table_of(S, ROUND), position_mm=np.array([98.0, 0.0, 30.0])))
    planes = port.chart.planes
    assert planes.origin_mm[0].tolist() == [98.0, 0.0, 30.0]
    assert planes.origin_mm[-1] == pytest.approx([98.0, 90.0, 30.0])


def test_places_without_angles_take_the_directions_of_the_circles_through_them(table_of: Tables) -> None:
    a = np.radians(np.linspace(0.0, 90.0, 7))
    places = 60.0 * np.column_stack([np.zeros(7), np.sin(a), np.cos(a) - 1.0])
    path = path_of(table_of(None, ROUND, place_mm=places), None)
    expected = np.column_stack([np.zeros(7), np.cos(a), -np.sin(a)])
    assert path.normal == pytest.approx(expected, abs=1e-9)
    assert path.length_mm == pytest.approx(60.0 * pi / 2.0, rel=1e-4)


def test_places_that_turn_both_ways_lie_on_their_circles_too(table_of: Tables) -> None:
    # unevenly spaced on a circle that lies aslant in the head
    a = np.radians([0.0, 10.0, 35.0, 50.0, 90.0])
    e1, e2 = np.array([0.1, 1.0, 0.0]), np.array([0.6, 0.0, -0.8])
    e1 = e1 - e2 * (e1 @ e2)
    e1 /= np.linalg.norm(e1)
    places = 70.0 * (np.outer(np.sin(a), e1) + np.outer(1.0 - np.cos(a), e2))
    path = path_of(table_of(None, ROUND[:5], place_mm=places), None)
    assert path.normal == pytest.approx(np.outer(np.cos(a), e1) + np.outer(np.sin(a), e2), abs=1e-9)


def test_an_angle_left_out_everywhere_is_none_and_left_out_once_is_a_fault(table_of: Tables, job_of: Jobs) -> None:
    assert path_of(table_of(S, ROUND), None).turn_rad.max() == 0.0
    table = table_of(S, ROUND, pitch_deg=np.zeros(7))
    rows = list(table.rows)
    rows[3] = type(rows[3])(**{n: getattr(rows[3], n) for n in rows[3].__slots__} | {"pitch_deg": None})
    faults = faults_of(job_of(SectionTable(table.file, tuple(rows))))
    assert [(row, name) for row, name, _ in faults] == [(5, "pitch")]
    assert "left blank" in faults[0][2]


def test_every_stage_and_target_shares_the_chart(table_of: Tables, job_of: Jobs) -> None:
    rough = table_of([0.0, 20.0, 47.0, 90.0], [circle(46.0)] * 4)
    target = Target("street", sections=table_of([10.0, 60.0], [circle(48.0)] * 2))
    (port,) = loft_job(job_of(table_of(S, ROUND), rough, target=target))
    assert all(s.surface.chart is port.chart for s in port.stages)
    assert set(port.chart.knots_mm) == {*S.tolist(), 20.0, 47.0, 10.0}
    assert port.pattern is not None
    assert port.stage("stage 2").surface.area_mm2 == pytest.approx(pi * 23.0**2, rel=1e-9)
    assert port.stage(None) is port.stages[-1]
    assert port.cast is port.stages[0]
    assert port.throat_mm == 90.0


def test_a_station_of_a_later_table_a_hair_off_one_of_the_first_is_that_one(table_of: Tables, job_of: Jobs) -> None:
    later = table_of(S + np.array([0, 1e-6, -1e-6, 0, 1e-5, 0, 0]), ROUND)
    (port,) = loft_job(job_of(table_of(S, ROUND), later))
    assert np.array_equal(port.chart.knots_mm, S)


def test_every_station_that_strays_from_the_path_is_told(table_of: Tables, job_of: Jobs) -> None:
    pitch = np.linspace(0.0, 60.0, 7)
    later = table_of([-4.0, 15.0, 40.0, 90.0, 120.0], [circle(46.0)] * 5, pitch_deg=[0.0, 10.0, 26.7, 75.0, 60.0])
    faults = faults_of(job_of(table_of(S, ROUND, pitch_deg=pitch), later))
    assert [(row, name) for row, name, _ in faults] == [(2, "distance"), (5, "pitch"), (6, "distance")]
    assert f"{mm(-4.0, None)}, off the port's path" in faults[0][2]
    assert "15.0 degrees away" in faults[1][2]


def test_a_later_stage_that_stops_short_is_told(table_of: Tables, job_of: Jobs) -> None:
    faults = faults_of(job_of(table_of(S, ROUND), table_of([0.0, 40.0, 80.0], [circle(46.0)] * 3)))
    assert [(row, name) for row, name, _ in faults] == [(4, "distance")]
    assert f"ends the table at {mm(80.0, None)}" in faults[0][2]


def test_a_target_may_stop_short(table_of: Tables, job_of: Jobs) -> None:
    target = Target("street", sections=table_of([10.0, 60.0], [circle(48.0)] * 2))
    loft_job(job_of(table_of(S, ROUND), target=target))


def test_a_section_that_misses_the_middle_of_the_first_is_told_with_its_row(table_of: Tables, job_of: Jobs) -> None:
    outlines = [*ROUND[:5], circle(20.0).moved(40.0, 0.0), ROUND[6]]
    faults = faults_of(job_of(table_of(S, ROUND), table_of(S, outlines)))
    assert [(row, name) for row, name, _ in faults] == [(7, "outline")]


def test_planes_that_cross_in_any_stage_are_told_once(table_of: Tables, job_of: Jobs) -> None:
    s, pitch = np.array([0.0, 12.0, 24.0]), np.array([0.0, 0.0, 33.0])
    low, high = rectangle(40.0, 40.0, CornerRadii(0, 0, 0, 0)), rectangle(40.0, 50.0, CornerRadii(0, 0, 0, 0))
    for first, later in ((high, high), (low, high)):
        faults = faults_of(job_of(table_of(s, [first] * 3, pitch_deg=pitch), table_of(s, [later] * 3)))
        assert [(row, name) for row, name, _ in faults] == [(4, "pitch")]
        assert "crosses the plane of the station before" in faults[0][2]


def test_faults_of_several_ports_are_told_together(table_of: Tables, job_of: Jobs) -> None:
    one = job_of(table_of(S, ROUND), table_of(S, [*ROUND[:6], circle(10.0).moved(90.0, 0.0)]))
    bad = table_of([0.0, 40.0], [circle(44.0)] * 2, pitch_deg=[0.0, 180.0])
    two = job_of(bad).ports[0]
    job = type(one)(**{n: getattr(one, n) for n in one.__slots__} | {"ports": (*one.ports, two)})
    assert {(row, name) for row, name, _ in faults_of(job)} == {(8, "outline"), (3, "pitch")}
