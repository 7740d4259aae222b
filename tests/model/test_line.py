"""A target's roof line, in the plane of every section."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, radians
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Line, Target
from portgeom.model.line import FLATTEST_UP, along, roof_heights_mm
from portgeom.model.lofted import LoftedPort

Loft: TypeAlias = Callable[..., LoftedPort]
Lines: TypeAlias = Callable[..., Line]
RADIUS = 60.0
BOX = rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0))


@pytest.fixture(scope="module")
def bend(lofted: Loft) -> LoftedPort:
    pitch = np.linspace(0.0, 80.0, 9)
    return lofted(RADIUS * np.radians(pitch), [BOX] * 9, pitch_deg=pitch)


@pytest.fixture(scope="module")
def straight(lofted: Loft) -> LoftedPort:
    return lofted(np.linspace(0.0, 100.0, 6), [BOX] * 6)


def heights(port: LoftedPort, target: Target) -> np.ndarray:
    crown = port.cast.surface.points_mm[..., 1].max(axis=1)
    return roof_heights_mm(target, port.chart, crown)


def test_a_line_runs_straight_between_its_rows_and_says_nothing_outside_them(line: Lines) -> None:
    rows = line((10.0, 21.0), (70.0, 23.0), (92.0, 22.0))
    values = along(rows, np.array([9.9, 10.0, 40.0, 70.0, 81.0, 92.0, 92.1]))
    assert values[1:-1] == pytest.approx([21.0, 22.0, 23.0, 22.5, 22.0])
    assert np.isnan(values[[0, -1]]).all()


def test_a_single_row_holds_everywhere(line: Lines) -> None:
    assert along(line((0.0, 9.5)), np.array([-5.0, 0.0, 1000.0])).tolist() == [9.5, 9.5, 9.5]


def test_without_a_roof_line_there_is_no_height(straight: LoftedPort) -> None:
    assert np.isnan(heights(straight, Target("none"))).all()


def test_a_roof_line_follows_the_path_round_a_bend(bend: LoftedPort, line: Lines) -> None:
    end = bend.chart.path.length_mm
    height = heights(bend, Target("t", roof=line((0.0, 26.0), (end, 28.0))))
    assert height == pytest.approx(26.0 + 2.0 * bend.chart.distance_mm / end)


def test_a_roof_raise_is_over_the_roof_as_cast(straight: LoftedPort, line: Lines) -> None:
    target = Target("t", roof_kind="roof_raise", roof=line((0.0, 0.0), (100.0, 2.0)))
    assert heights(straight, target) == pytest.approx(25.0 + straight.chart.distance_mm / 50.0, abs=1e-9)


def test_a_height_over_the_deck_is_met_in_the_head_frame(lofted: Loft, line: Lines) -> None:
    # a face that leans by 20 degrees and a path that starts 40 mm over the deck: z of the line is z of the roof
    places = np.column_stack([np.zeros(4), np.linspace(0.0, 60.0, 4), 40.0 - np.linspace(0.0, 60.0, 4) * 0.1])
    port = lofted(None, [BOX] * 4, place_mm=places, pitch_deg=np.full(4, 20.0), yaw_deg=np.full(4, 15.0))
    length = port.chart.path.length_mm
    height = heights(port, Target("t", roof_kind="roof_from_deck", roof=line((0.0, 70.0), (length, 62.0))))
    planes = port.chart.planes
    z = planes.origin_mm[:, 2] + height * planes.up[:, 2]
    assert z == pytest.approx(70.0 - 8.0 * port.chart.distance_mm / length)


def test_a_height_over_the_deck_means_nothing_where_the_plane_lies_flat(bend: LoftedPort, line: Lines) -> None:
    end = bend.chart.path.length_mm
    height = heights(bend, Target("t", roof_kind="roof_from_deck", roof=line((0.0, 26.0), (end, 26.0))))
    flat = np.cos(bend.chart.distance_mm / RADIUS) < FLATTEST_UP
    assert np.array_equal(np.isnan(height), flat)
    assert flat.any()


def test_a_straight_line_between_two_places_on_a_bend_is_a_chord(bend: LoftedPort, line: Lines) -> None:
    # roof points 25 mm over the path at 0 and at 60 degrees: on the circle of 85 about the bend's middle. The
    # chord between them lies at 85 cos 30 / cos(angle from its middle) from there.
    end = RADIUS * pi / 3.0
    height = heights(bend, Target("t", roof_straight=True, roof=line((0.0, 25.0), (end, 25.0))))
    angle = bend.chart.distance_mm / RADIUS
    inside = angle <= pi / 3.0 + 1e-12
    expected = 85.0 * cos(radians(30.0)) / np.cos(angle[inside] - radians(30.0)) - RADIUS
    assert height[inside] == pytest.approx(expected, abs=1e-9)
    assert np.isnan(height[~inside]).all()


def test_a_straight_line_of_two_pieces_meets_each_of_its_points(bend: LoftedPort, line: Lines) -> None:
    # none of them falls on a slab
    rows = ((3.3, 25.0), (20.1, 27.0), (50.2, 26.0))
    assert not set(bend.chart.distance_mm) & {s for s, _ in rows}
    height = heights(bend, Target("t", roof_straight=True, roof=line(*rows)))
    inside = (bend.chart.distance_mm >= 3.3) & (bend.chart.distance_mm <= 50.2)
    assert np.array_equal(np.isfinite(height), inside)
    for s, v in rows:
        nearest = bend.chart.slab_at(s) + np.arange(-1, 2)
        assert np.nanmin(np.abs(height[nearest] - v)) < 0.15
    # a piece that bends towards its chord never leaves its points' range by more than the sagitta of the arc
    sagitta = 85.0 * (1.0 - cos(0.5 * 30.0 / RADIUS))
    assert height[inside].min() > 25.0 - sagitta
    assert height[inside].max() <= 27.0 + 1e-9


def test_a_straight_line_on_a_straight_port_is_the_same_line(straight: LoftedPort, line: Lines) -> None:
    rows = line((0.0, 25.0), (60.0, 28.0), (100.0, 26.0))
    bent, stretched = (heights(straight, Target("t", roof=rows, roof_straight=way)) for way in (False, True))
    assert stretched == pytest.approx(bent, abs=1e-9)


@pytest.mark.parametrize("kind", ["roof_line", "roof_raise", "roof_from_deck"])
def test_a_straight_line_that_starts_and_ends_between_slabs_is_still_one(
    straight: LoftedPort, line: Lines, kind: str
) -> None:
    # on a straight port whose path lies on the deck all three kinds say the same
    lift = 0.0 if kind == "roof_raise" else 25.0
    target = Target("t", roof_kind=kind, roof_straight=True, roof=line((10.3, lift + 1.0), (70.2, lift + 3.0)))
    s = straight.chart.distance_mm
    inside = (s >= 10.3) & (s <= 70.2)
    height = heights(straight, target)
    assert height[inside] == pytest.approx(26.0 + 2.0 * (s[inside] - 10.3) / 59.9, abs=1e-9)
    assert np.isnan(height[~inside]).all()


def test_sideways_bends_leave_a_line_level(lofted: Loft, line: Lines) -> None:
    yaw = np.linspace(0.0, 60.0, 7)
    port = lofted(RADIUS * np.radians(yaw), [BOX] * 7, yaw_deg=yaw)
    end = port.chart.path.length_mm
    height = heights(port, Target("t", roof_straight=True, roof=line((0.0, 25.0), (end, 25.0))))
    assert height == pytest.approx(np.full(len(height), 25.0), abs=1e-9)
