"""Walls known from a few thickness readings: never above the nearest, less what was cut, silent far away."""

from __future__ import annotations

from math import hypot, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portgeom.job.faults import JobError
from portgeom.job.values import Hazard, WallReading
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.readings import KNOWN_WITHIN_MM, ReadWalls, read_walls

SLAB = 0.5


def thickness(*rows: tuple[float, float, float], **more) -> Hazard:
    return Hazard("gauge", "readings", file="gauge.csv", readings=tuple(WallReading(*r) for r in rows), **more)


def crown(made, read: ReadWalls, distance: float) -> tuple[float, float]:
    """Thickness and distance to the nearest reading in the middle of the roof."""
    chart = made.port.chart
    ray = (chart.rays.up.start + chart.rays.up.stop) // 2
    slab = chart.slab_at(distance)
    return float(read.thick_mm[slab, ray]), float(read.away_mm[slab, ray])


@pytest.mark.parametrize(
    ("distance", "thick", "away"),
    [
        (20.0, 6.0, 0.0),
        (40.0, 4.0, 0.0),
        (27.0, 4.0, 7.0),
        (33.0, 4.0, 7.0),
        (12.0, 6.0, 8.0),
        (50.0, 4.0, 10.0),
    ],
)
def test_between_readings_the_least_of_those_around_counts(hazarded, distance, thick, away) -> None:
    made = hazarded()
    read = read_walls(made.surface, [WallReading(20.0, 0.0, 6.0), WallReading(40.0, 0.0, 4.0)])
    found = crown(made, read, distance)
    assert found[0] == thick
    # the ray nearest to the middle may stand beside it
    assert found[1] == pytest.approx(away, abs=0.4)


def test_further_off_than_a_reading_reaches_nothing_is_known(hazarded) -> None:
    made = hazarded()
    read = read_walls(made.surface, [WallReading(20.0, 0.0, 6.0)])
    assert not np.isnan(crown(made, read, 20.0 + KNOWN_WITHIN_MM - 1.0)[0])
    assert np.isnan(crown(made, read, 20.0 + KNOWN_WITHIN_MM + 1.0)[0])


def test_a_reading_on_a_side_wall_lies_round_the_corner_from_the_roof(hazarded) -> None:
    # from the crown 12 along the roof, a quarter circle of radius 8 and 7 down: clock 90
    made = hazarded()
    read = read_walls(made.surface, [WallReading(30.0, 90.0, 5.0)])
    girth = 12.0 + 8.0 * pi / 2.0 + 7.0
    corner = np.argmin(np.abs(made.surface.points_mm[0] - [12.0, 15.0]).sum(axis=1))
    assert girth - 12.0 > KNOWN_WITHIN_MM
    assert np.isnan(read.thick_mm[made.port.chart.slab_at(30.0), corner])
    side = np.argmin(np.abs(made.surface.points_mm[0] - [20.0, 7.0]).sum(axis=1))
    assert read.away_mm[made.port.chart.slab_at(42.0), side] == pytest.approx(hypot(12.0, 7.0), abs=0.5)


@pytest.mark.parametrize("clock", [0.0, 45.0, 90.0, 179.0, 181.0, 270.0, 359.9, 360.0])
def test_a_reading_counts_where_it_was_taken_at_every_clock_position(hazarded, clock: float) -> None:
    made = hazarded()
    read = read_walls(made.surface, [WallReading(30.0, clock, 5.0)])
    slab = made.port.chart.slab_at(30.0)
    ray = int(np.nanargmin(np.where(np.isfinite(read.away_mm[slab]), read.away_mm[slab], np.nan)))
    offset = made.surface.points_mm[slab, ray] - made.port.chart.centre_mm[slab]
    turned = (np.degrees(np.arctan2(offset[0], offset[1])) - clock + 180.0) % 360.0 - 180.0
    assert abs(turned) < 2.0  # half the angle between rays
    assert read.thick_mm[slab, ray] == 5.0


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 20)), min_size=1, max_size=30, unique_by=lambda r: r[0]))
def test_along_the_roof_the_less_of_the_readings_before_and_behind_counts(hazarded, rows) -> None:
    made = hazarded()
    at, thick = 2.0 * np.array([r[0] for r in rows]), np.array([float(r[1]) for r in rows])
    read = read_walls(made.surface, [WallReading(s, 0.0, w) for s, w in zip(at, thick, strict=True)])
    for place in (3.0, 17.0, 29.0, 41.0, 67.0, 79.0):  # odd, so beside every reading
        away = np.abs(at - place)
        sides = [np.flatnonzero(side & (away < KNOWN_WITHIN_MM)) for side in (at < place, at > place)]
        expected = min((thick[s[np.argmin(away[s])]] for s in sides if len(s)), default=np.nan)
        found, _ = crown(made, read, place)
        if away.min() < KNOWN_WITHIN_MM - 1.0 and all(abs(a - KNOWN_WITHIN_MM) > 0.5 for a in away):
            assert found == expected
            assert found <= thick[np.argmin(away)]


def test_what_is_cut_comes_off_the_reading(hazarded) -> None:
    made = hazarded(thickness((30.0, 0.0, 6.0), (34.0, 0.0, 5.5)))
    (now,), (after,) = made.walls().walls, made.walls(made.raised(2.0, to_mm=40.0)).walls
    assert now.least.wall_mm == 5.5
    assert after.least.wall_mm == pytest.approx(3.5, abs=1e-9)


def test_cutting_where_no_reading_is_near_leaves_the_wall_not_known(hazarded) -> None:
    made = hazarded(thickness((30.0, 0.0, 6.0)))
    (near,), (far,) = (made.walls(made.raised(0.5, from_mm=a, to_mm=b)).walls for a, b in ((28, 32), (60, 70)))
    assert (near.verdict, near.unknown) == ("enough", False)
    assert (far.verdict, far.unknown) == ("not known", True)
    assert made.only().verdict == "enough"


def test_thin_is_told_even_where_more_was_cut_than_is_known(hazarded) -> None:
    made = hazarded(thickness((30.0, 0.0, 6.0)))
    (wall,) = made.walls(made.raised(4.0)).walls
    assert wall.verdict == "thin"
    assert wall.least.wall_mm == pytest.approx(2.0, abs=1e-9)


def test_a_cut_deeper_than_the_reading_opens_the_wall(hazarded) -> None:
    made = hazarded(thickness((30.0, 0.0, 3.0), open_allowed=False))
    (wall,) = made.walls(made.raised(4.0)).walls
    assert wall.verdict == "open"
    assert wall.open_area_mm2 > 0.0


def test_readings_outside_the_port_are_named(hazarded) -> None:
    made = hazarded(thickness((30.0, 0.0, 6.0), (95.0, 0.0, 6.0)))
    with pytest.raises(JobError, match=r"gauge\.csv: distance: reading 2 of \"gauge\" is at 95 mm.*0 mm to 80 mm"):
        behind(made.job, made.port)
