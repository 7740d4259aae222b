"""Patches of places: what hangs together, where it is, and how sure a sum is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.questions.reach.cut_places import CutPlaces
from portgeom.questions.reach.patches import border_mm3, patches

ROWS, COLUMNS = 10, 12
WHY = ("near", "far")


@pytest.fixture
def places() -> CutPlaces:
    """Ten rows, 2 mm apart, of twelve places, one at every hour, 5 mm3 over each."""
    row, column = (a.ravel() for a in np.indices((ROWS, COLUMNS)))
    n = len(row)
    return CutPlaces(
        at_mm=np.zeros((n, 3)),
        into=np.zeros((n, 3)),
        metal_mm=np.ones(n),
        volume_mm3=np.full(n, 5.0),
        distance_mm=2.0 * row,
        clock_deg=30.0 * column,
        slab=row,
        row=row,
        column=column,
        shape=(ROWS, COLUMNS),
    )


def chosen(places: CutPlaces, rows: slice, columns: list[int]) -> np.ndarray:
    return np.isin(places.row, np.arange(ROWS)[rows]) & np.isin(places.column, columns)


def told(places: CutPlaces, which: np.ndarray, why: np.ndarray | int = 0):
    return patches(places, which, places.volume_mm3, np.broadcast_to(why, which.shape), WHY)


def test_a_patch_is_told_with_place_metal_and_clock(places) -> None:
    (patch,) = told(places, chosen(places, slice(3, 6), [2, 3, 4]))
    assert (patch.from_mm, patch.to_mm) == (6.0, 10.0)
    assert patch.clock_deg == pytest.approx(90.0)
    assert patch.volume_mm3 == 9 * 5.0
    assert not patch.all_round


def test_a_patch_across_the_crown_is_one(places) -> None:
    (patch,) = told(places, chosen(places, slice(0, 2), [10, 11, 0, 1, 2]))
    assert patch.clock_deg % 360.0 == pytest.approx(0.0, abs=1e-9) or patch.clock_deg == pytest.approx(360.0)
    assert patch.volume_mm3 == 10 * 5.0


def test_a_ring_runs_all_round(places) -> None:
    (patch,) = told(places, chosen(places, slice(4, 6), list(range(COLUMNS))))
    assert patch.all_round


def test_patches_apart_are_two_the_larger_first_each_with_its_own_reason(places) -> None:
    small, large = chosen(places, slice(0, 2), [3]), chosen(places, slice(5, 9), [3, 4])
    first, second = told(places, small | large, np.where(large, 1, 0))
    assert (first.volume_mm3, first.why) == (8 * 5.0, "far")
    assert (second.volume_mm3, second.why) == (2 * 5.0, "near")


def test_a_patch_takes_the_reason_of_most_of_its_metal(places) -> None:
    which = chosen(places, slice(0, 3), [5])
    (patch,) = told(places, which, np.where(places.row == 0, 1, 0))
    assert patch.why == "near"


def test_what_hardly_weighs_is_not_named(places) -> None:
    heavy = replace(places, volume_mm3=np.where(places.row == 9, 1000.0, 1.0))
    assert patches(heavy, chosen(places, slice(0, 1), [0]), heavy.volume_mm3, np.zeros(120, int), WHY) == []


def test_half_the_metal_beside_another_answer_may_be_off(places) -> None:
    reached = (places.row < 4).astype(float)
    # two rows of twelve lie at the border
    assert border_mm3(places, reached) == 0.5 * 2 * COLUMNS * 5.0
    # an answer that parts the columns has two borders, across the crown too
    halves = (places.column < 6).astype(float)
    assert border_mm3(places, halves) == 0.5 * 4 * ROWS * 5.0
    assert border_mm3(places, np.ones(len(reached))) == 0.0
