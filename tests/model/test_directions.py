"""Directions of section planes from places alone: circles, the vertical, and readings that are a little off."""

from __future__ import annotations

from collections.abc import Callable
from math import radians
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.findings import GeometryError
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import ellipse
from portgeom.job.values import SectionTable
from portgeom.model.directions import directions_along
from portgeom.model.lofted import path_of

Tables: TypeAlias = Callable[..., SectionTable]


def arc(turn_deg: float, count: int = 9, radius: float = 60.0) -> F64:
    """Return places on an arc that turns down to the deck."""
    a = np.radians(np.linspace(0.0, turn_deg, count))
    return radius * np.column_stack([np.zeros(count), np.sin(a), np.cos(a) - 1.0])


def path_through(table_of: Tables, places: F64) -> Path:
    return path_of(table_of(None, [ellipse(50.0, 36.0)] * len(places), place_mm=places), None)


@pytest.mark.parametrize("turn", [45.0, 85.0, 90.0, 100.0, 135.0, 180.0])
def test_a_path_that_turns_down_past_the_vertical_keeps_its_right(table_of: Tables, turn: float) -> None:
    path = path_through(table_of, arc(turn))
    a = np.radians(np.linspace(0.0, turn, 9))
    assert path.right == pytest.approx(np.broadcast_to([1.0, 0.0, 0.0], (9, 3)), abs=1e-9)
    assert path.normal == pytest.approx(np.column_stack([np.zeros(9), np.cos(a), -np.sin(a)]), abs=1e-9)
    assert np.degrees(path.roll_rad) == pytest.approx(np.zeros(8), abs=1e-6)


@pytest.mark.parametrize("turn", [86.0, 90.0, 93.0, 110.0])
@pytest.mark.parametrize("seed", range(3))
def test_readings_a_little_off_do_not_spin_the_planes_at_the_vertical(table_of: Tables, turn: float, seed: int) -> None:
    off = np.random.default_rng(seed).normal(size=(9, 3)) * 0.1
    path = path_through(table_of, arc(turn) + off)
    # a tenth of a millimetre over 10 mm is half a degree of direction; level planes turn by a few times that
    assert np.abs(np.degrees(path.roll_rad)).max() < 8.0
    assert path.right[:, 0].min() > np.cos(radians(12.0))


def test_a_path_up_past_the_vertical_keeps_its_right_too(table_of: Tables) -> None:
    path = path_through(table_of, arc(120.0) * (1.0, 1.0, -1.0))
    assert path.right == pytest.approx(np.broadcast_to([1.0, 0.0, 0.0], (9, 3)), abs=1e-9)


def test_away_from_the_vertical_right_is_level() -> None:
    t = np.linspace(0.0, 1.0, 8)
    places = np.column_stack([30.0 * t**2, 100.0 * t, -40.0 * t**2])
    found = directions_along(places)
    assert found.roll_deg == pytest.approx(np.zeros(8), abs=1e-12)
    slope = np.column_stack([60.0 * t, np.full(8, 100.0), -80.0 * t])
    assert found.yaw_deg == pytest.approx(np.degrees(np.arctan2(slope[:, 0], slope[:, 1])), abs=0.6)
    assert found.pitch_deg[0] == pytest.approx(0.0, abs=0.6)


def test_two_places_look_along_the_line_between_them() -> None:
    found = directions_along(np.array([[0.0, 0.0, 0.0], [10.0, 10.0, 0.0]]))
    assert found.yaw_deg == pytest.approx([45.0, 45.0])
    assert found.pitch_deg == pytest.approx([0.0, 0.0])


def test_places_that_fall_together_are_refused_in_words(table_of: Tables) -> None:
    places = arc(60.0)
    places[4] = places[3]
    with pytest.raises(GeometryError, match="same place"):
        path_through(table_of, places)
