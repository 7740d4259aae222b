"""Areas square to the flow: closed forms of steps, curves, rolls and arcs that end."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart, lay_chart
from portgeom.geometry.flow_area import DRIFT_MM, flow_area_mm2
from portgeom.geometry.moments import Moments
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import circle

AREA = 1500.0


def facing(chart: Chart, right: F64, up: F64) -> F64:
    """How squarely the flow meets each plane whose section has its centroid there."""
    area = np.full(len(chart.distance_mm), AREA)
    return flow_area_mm2(chart, Moments(area, AREA * np.column_stack([right, up]))) / AREA


def chart_of(s: F64, pitch_deg: F64 | None = None, roll_deg: F64 | None = None) -> Chart:
    nothing = np.zeros(len(s))
    pitch, roll = (nothing if angle is None else angle for angle in (pitch_deg, roll_deg))
    return lay_chart(Path.from_angles(s, pitch, nothing, roll), [circle(40.0)] * len(s))


def test_a_step_counts_as_a_slope_over_ten_mm() -> None:
    chart = chart_of(np.linspace(0.0, 60.0, 7))
    s = chart.distance_mm
    found = facing(chart, 0.0 * s, np.where(s < 30.0, 0.0, 2.0))
    near = np.abs(s - 30.0) < DRIFT_MM - 0.6
    assert found[near] == pytest.approx(1.0 / np.sqrt(1.0 + (2.0 / (2.0 * DRIFT_MM)) ** 2), rel=1e-12)
    assert found[np.abs(s - 30.0) > DRIFT_MM + 0.6] == pytest.approx(1.0, rel=1e-12)


def test_a_parabola_is_followed_exactly_to_both_ends() -> None:
    chart = chart_of(np.linspace(0.0, 60.0, 7))
    s = chart.distance_mm
    found = facing(chart, 0.1 * s, 0.004 * s**2)
    # straight between slabs half a millimetre apart: off by less than the slope's change over one
    assert found == pytest.approx(1.0 / np.sqrt(1.0 + 0.01 + (0.008 * s) ** 2), abs=2e-5)


def test_a_port_shorter_than_the_stretch_takes_its_whole_length() -> None:
    chart = chart_of(np.array([0.0, 3.0, 6.0]))
    s = chart.distance_mm
    assert facing(chart, 0.25 * s, 0.0 * s) == pytest.approx(1.0 / np.sqrt(1.0 + 0.0625), rel=1e-9)


def test_sections_off_the_path_are_square_to_the_flow_on_an_arc_and_where_it_ends() -> None:
    # 60 mm radius, a quarter turn, then straight: the middles keep beside the path all the way
    s = np.array([0.0, 30.0, 60.0, 60.0 * radians(90.0), 130.0])
    chart = chart_of(s, pitch_deg=np.degrees(np.minimum(s, s[3]) / 60.0))
    at = np.ones(len(chart.distance_mm))
    assert facing(chart, 6.0 * at, -9.0 * at) == pytest.approx(1.0, rel=1e-9)


def test_a_section_off_the_path_that_rolls_round_it_goes_along_a_screw() -> None:
    s = np.linspace(0.0, 60.0, 7)
    chart = chart_of(s, roll_deg=s)  # a degree a millimetre, 8 mm off
    at = np.ones(len(chart.distance_mm))
    assert facing(chart, 8.0 * at, 0.0 * at) == pytest.approx(1.0 / np.hypot(1.0, 8.0 * radians(1.0)), rel=1e-5)


def test_many_at_once_are_each_as_by_itself() -> None:
    s = np.linspace(0.0, 60.0, 7)
    path = Path.from_angles(*(np.stack([a, a]) for a in (s, s, 0.0 * s, 0.5 * s)))
    single = chart_of(s, pitch_deg=s, roll_deg=0.5 * s)
    many = single.laid_over(path)
    at = single.distance_mm
    area = np.stack([AREA + at, AREA - at])
    first = np.stack([area * (0.1 * at), area * np.sin(0.1 * at)], axis=-1)
    each = [flow_area_mm2(single, Moments(a, f)) for a, f in zip(area, first, strict=True)]
    assert flow_area_mm2(many, Moments(area, first)) == pytest.approx(np.stack(each), rel=1e-12)
