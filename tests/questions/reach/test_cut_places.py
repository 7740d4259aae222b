"""Places where metal comes off: spread, weight and direction."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.geometry.skin import wall_of
from portgeom.job.values import Line, Target
from portgeom.questions.reach.cut_places import PLACE_STEP_MM, CutPlaces, cut_places


def places_of(every) -> CutPlaces:
    return cut_places(every.stage.surface, wall_of(every.removal.after), every.removal.volume_mm3)


@pytest.fixture(scope="module")
def bend(ask, table_of) -> CutPlaces:
    """A right-angled bend of radius 50, its bore opened from 20 to 22 mm."""
    angle = np.linspace(0.0, 90.0, 7)
    distance = 50.0 * np.radians(angle)
    target = Target("wider", sections=table_of(distance, [circle(22.0)] * 7))
    return places_of(ask(distance, [circle(20.0)] * 7, pitch_deg=angle, target=target))


def test_the_outside_of_a_bend_weighs_more_than_the_inside_by_pappus(bend) -> None:
    # a strip at angle t about the bore has the length 90 degrees x (50 + 10.5 cos t); taken over each half, the
    # mean of cos t is 2 / pi. Places stand for what lies up to half a step round them, also over the border.
    outer = (bend.clock_deg < 90.0) | (bend.clock_deg > 270.0)  # the bend turns down, so its roof is outside
    lever = 10.5 * 2.0 / np.pi
    share = bend.volume_mm3[outer].sum() / bend.volume_mm3.sum()
    assert share == pytest.approx(0.5 * (50.0 + lever) / 50.0, abs=PLACE_STEP_MM / (np.pi * 22.0))


def test_every_place_lies_on_the_wall_once_cut_and_looks_into_the_metal(bend) -> None:
    # the bend's axis runs along x through (y, z) = (0, -50)
    out = np.hypot(bend.at_mm[:, 1], bend.at_mm[:, 2] + 50.0) - 50.0
    assert np.hypot(out, bend.at_mm[:, 0]) == pytest.approx(11.0, abs=0.02)
    across = bend.at_mm[:, 0] / 11.0
    assert bend.into[:, 0] == pytest.approx(across, abs=0.02)
    assert bend.metal_mm == pytest.approx(1.0, abs=0.03)  # along the ray, by the cosine of its slant


def test_places_stand_a_step_apart_and_the_patches_are_a_grid(bend) -> None:
    rows = np.unique(bend.distance_mm)
    assert np.diff(rows).max() <= PLACE_STEP_MM + 0.5
    per_row = np.bincount(bend.row)
    assert (per_row == bend.shape[1]).all()
    assert bend.shape[1] == pytest.approx(np.pi * 22.0 / PLACE_STEP_MM, abs=4)
    grid = bend.grid(bend.volume_mm3)
    assert np.isfinite(grid).all()
    assert np.nansum(grid) == pytest.approx(bend.volume_mm3.sum())


def test_only_what_is_cut_has_places(ask) -> None:
    target = Target("roof", roof=Line(np.array([[20.0, 2.0], [60.0, 2.0]])), roof_kind="roof_raise")
    every = ask([0.0, 20.0, 40.0, 60.0, 80.0], [circle(30.0)] * 5, target=target)
    places = places_of(every)
    assert places.distance_mm.min() >= 20.0
    assert places.distance_mm.max() <= 60.0
    assert np.isnan(places.grid(places.volume_mm3)).any()
    assert ((places.clock_deg < 95.0) | (places.clock_deg > 265.0)).all()
    assert places.volume_mm3.sum() == pytest.approx(every.removal.volume_mm3)
