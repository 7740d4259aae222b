"""The wall direction by direction, and what bridging a boss does to the middle."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.capture.slicing.wall import BINS, filled_shift_mm, wall_between_mm, wall_mm


def circle(radius: float, points: int = 300, middle=(0.0, 0.0)) -> np.ndarray:
    a = np.linspace(0.0, 2.0 * pi, points, endpoint=False)
    return np.column_stack([np.cos(a), np.sin(a)]) * radius + middle


def test_the_wall_of_a_circle_is_its_radius_wherever_its_points_lie() -> None:
    assert wall_mm(circle(20.0)) == pytest.approx(20.0, abs=0.002)
    assert wall_mm(circle(20.0, points=7)).min() > 20.0 * np.cos(pi / 7) - 1e-9


def test_the_wall_is_read_in_any_direction() -> None:
    wall = wall_mm(circle(20.0, middle=(2.0, 0.0)))
    assert wall_between_mm(wall, np.array([[5.0, 0.0], [-9.0, 0.0]])) == pytest.approx([22.0, 18.0], abs=0.02)


def test_a_boss_shorter_than_the_straightedge_is_bridged_and_a_longer_sag_is_not() -> None:
    s = np.linspace(0.0, 120.0, 61)
    roof = np.abs(np.arange(BINS) - 0.75 * BINS) < 6
    for length, bridged in ((24.0, True), (200.0, False)):
        walls = np.full((61, BINS), 20.0)
        dip = 4.0 * np.clip(1.0 - (2.0 * (s - 60.0) / length) ** 2, 0.0, None)
        walls[:, roof] -= dip[:, None]
        shift = filled_shift_mm(s, walls, 40.0)
        moved = np.linalg.norm(shift[30])
        assert moved > 0.5 if bridged else moved < 0.05 * 4.0
    assert np.abs(filled_shift_mm(s, np.full((61, BINS), 20.0), 40.0)).max() == 0.0


def test_a_line_beside_the_middle_is_not_kept_there_by_bridging_but_a_boss_still_is_bridged() -> None:
    s = np.linspace(0.0, 120.0, 61)
    aside = 0.3 * np.exp(-(((s - 60.0) / 8.0) ** 2))
    walls = np.array([wall_mm(circle(20.0, middle=(x, 0.0))) for x in aside])
    slack = 0.02 * 40.0
    assert np.abs(filled_shift_mm(s, walls, 30.0)).max() > 0.05
    assert np.abs(filled_shift_mm(s, walls, 30.0, slack_mm=slack)).max() == 0.0
    roof = np.abs(np.arange(BINS) - 0.75 * BINS) < 6
    boss = np.full((61, BINS), 20.0)
    boss[:, roof] -= 4.0 * np.clip(1.0 - ((s - 60.0) / 12.0) ** 2, 0.0, None)[:, None]
    whole, slacked = (filled_shift_mm(s, boss, 30.0, slack_mm=x)[30] for x in (0.0, slack))
    assert slacked == pytest.approx(whole)
