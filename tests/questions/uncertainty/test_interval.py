"""Intervals of draws with known quantiles, and differences whose shared errors cancel."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.questions.uncertainty.chance import normals
from portgeom.questions.uncertainty.interval import (
    basic_interval,
    difference,
    shortest_interval,
    spread,
    symmetric_interval,
)

EVEN = np.arange(1001.0)


def test_the_symmetric_interval_leaves_as_many_below_as_above() -> None:
    interval = symmetric_interval(np.random.default_rng(1).permutation(EVEN))
    assert (interval.low, interval.high) == (25.0, 976.0)


def test_the_shortest_interval_of_a_one_sided_spread_begins_at_its_end() -> None:
    skew = -np.log(1.0 - (np.arange(4000) + 0.5) / 4000.0)  # an exponential law: 95 percent lie below ln 20
    interval = shortest_interval(skew)
    assert interval.low == pytest.approx(0.0, abs=1e-3)
    assert interval.high == pytest.approx(np.log(20.0), rel=1e-3)


def test_the_basic_interval_is_mirrored_in_the_value() -> None:
    plain, basic = symmetric_interval(EVEN), basic_interval(400.0, EVEN)
    assert (basic.low, basic.high) == (800.0 - plain.high, 800.0 - plain.low)


def test_the_basic_interval_of_a_smallest_of_equals_lies_above_what_was_measured() -> None:
    # the least of ten like values, read with errors, is too small; drawn again it is too small once more
    read = normals(3, "read", shape=(10,))
    again = (read + normals(3, "again", shape=(4000, 10))).min(axis=1)
    own = float(read.min())
    assert again.mean() < own < basic_interval(own, again).high
    assert basic_interval(own, again).holds(0.0) or basic_interval(own, again).low > 0.0


def test_an_amount_is_never_less_than_nothing_and_holds_its_value() -> None:
    # metal over a line that a port is at: errors of 1 seem to add about 0.4, and again when drawn
    over = np.maximum(0.0, normals(4, "over", shape=(4000,))) + 0.4
    found = spread(0.4, over, amount=True).interval
    assert found.low == 0.0
    assert found.high >= 0.4
    assert found.high < symmetric_interval(over).high


def test_draws_that_were_left_out_do_not_count() -> None:
    with_gaps = np.concatenate([EVEN, np.full(300, np.nan)])
    assert symmetric_interval(with_gaps) == symmetric_interval(EVEN)
    assert spread(1.0, with_gaps).sd == spread(1.0, EVEN).sd


def test_a_figure_without_draws_has_no_interval() -> None:
    assert np.isnan(spread(1.0, np.full(5, np.nan)).interval.low)


def test_a_difference_does_not_hold_what_both_share() -> None:
    shared, own = 100.0 * normals(1, "shared", shape=(2000,)), normals(1, "own", shape=(2, 2000))
    apart = difference(5.0, shared + own[0] + 5.0, shared + own[1])
    assert apart.sd == pytest.approx(np.sqrt(2.0), rel=0.06)
    assert apart.significant
    assert not difference(1.0, shared + own[0] + 1.0, shared + own[1]).significant
