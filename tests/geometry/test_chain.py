"""Loose pieces of line are put end to end, and where they do not close it is said where."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.chain import chain
from portgeom.geometry.moments import polygon_moments

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
SIDES = [np.array([SQUARE[k], SQUARE[(k + 1) % 4]]) for k in range(4)]


@pytest.mark.parametrize("seed", range(12))
def test_pieces_in_any_order_and_direction_make_one_loop(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = [SIDES[k][:: int(rng.choice([1, -1]))] for k in rng.permutation(4)]
    chained = chain(pieces, gap_mm=0.005)
    assert not chained.strands
    assert not len(chained.forks)
    (loop,) = chained.loops
    assert len(loop) == 4
    assert abs(float(polygon_moments(loop).area_mm2)) == pytest.approx(100.0)


def test_ends_a_hair_apart_are_one_place_and_further_apart_are_not() -> None:
    for gap, closes in ((0.004, True), (0.006, False)):
        open_side = np.array([[0.0, 10.0], [0.0, gap]])
        chained = chain([*SIDES[:3], open_side], gap_mm=0.005)
        assert bool(chained.loops) is closes
        assert len(chained.strands) == (0 if closes else 1)


def test_an_open_strand_runs_from_end_to_end() -> None:
    (strand,) = chain([SIDES[1], SIDES[0][::-1], SIDES[2]], gap_mm=0.005).strands
    assert {tuple(strand[0]), tuple(strand[-1])} == {(0.0, 0.0), (0.0, 10.0)}
    assert len(strand) == 4


def test_where_a_third_end_comes_in_is_a_fork() -> None:
    chained = chain([*SIDES, np.array([[10.0, 10.0], [20.0, 20.0]])], gap_mm=0.005)
    assert chained.forks[0] == pytest.approx([10.0, 10.0])
    assert not chained.loops


def test_a_closed_piece_is_a_loop_and_two_halves_are_one() -> None:
    ring = np.vstack([SQUARE, SQUARE[:1]])
    chained = chain([ring, ring[:3] + 50.0, ring[2:] + 50.0], gap_mm=0.005)
    assert [len(loop) for loop in chained.loops] == [4, 4]


def test_a_piece_of_no_length_is_left_out() -> None:
    chained = chain([*SIDES, np.array([[3.0, 3.0], [3.0, 3.0]])], gap_mm=0.005)
    assert len(chained.loops) == 1
    assert not chained.strands
