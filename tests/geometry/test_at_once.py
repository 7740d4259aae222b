"""What copies of the process answer is what it would answer itself, in order, with the same objects in it."""

from __future__ import annotations

import os

import numpy as np
import pytest

from portgeom.geometry import at_once as module
from portgeom.geometry.arrays import frozen
from portgeom.geometry.at_once import at_once, at_once_and_then

pytestmark = pytest.mark.skipif(not module.can_copy(), reason="processes are not copied here")


@pytest.fixture
def two(monkeypatch):
    """Two processors, whatever the machine has."""
    monkeypatch.setattr(module, "processors", lambda: 2)


class Held:
    """A thing that cannot travel: it holds a function of its own."""

    def __init__(self):
        self.ask = lambda: 1


def test_answers_come_in_order_and_from_copies(two):
    answers = at_once(lambda k: (k, os.getpid()), 6)
    assert [k for k, _ in answers] == list(range(6))
    assert os.getpid() not in {pid for _, pid in answers}


def test_what_both_sides_hold_is_the_same_object_afterwards(two):
    held = [Held(), Held(), Held()]
    answers = at_once(lambda k: {"held": held[k], "number": k}, 3, shared=held)
    assert all(answer["held"] is thing for answer, thing in zip(answers, held, strict=True))


def test_arrays_stay_read_only_and_the_same(two):
    values = frozen(np.arange(12.0).reshape(3, 4))
    for answer in at_once(lambda k: (values * 1.0, values), 3):
        np.testing.assert_array_equal(answer[1], values)
        assert not answer[1].flags.writeable
        answer[0][0, 0] = 1.0


@pytest.mark.parametrize("most", [np.inf, np.nan, 0.0])
def test_arrays_that_are_mostly_one_value_come_back_bit_by_bit(two, most):
    values = np.full((90, 100), most)
    values[7, 3:60] = np.linspace(-1.0, 1.0, 57)
    values[80, 99] = -0.0
    # in Fortran's order, every other row, as whole numbers, and too full to be thinned
    several = [frozen(a) for a in (values, values.T, values[::2], np.arange(9000) // 8999, np.arange(9000.0))]
    for answer in at_once(lambda k: several, 3):
        for got, asked in zip(answer, several, strict=True):
            assert got.dtype == asked.dtype
            assert got.shape == asked.shape
            assert got.tobytes() == asked.tobytes()
            assert not got.flags.writeable


def test_what_follows_an_answer_is_given_it_and_what_both_sides_hold(two):
    held = [Held() for _ in range(5)]
    answers = at_once_and_then(
        lambda k: (held[k], k, os.getpid()), lambda k, found: (found[0] is held[k], found[1] + k), 5, shared=held
    )
    assert [second for _, second in answers] == [(True, 2 * k) for k in range(5)]
    assert [first[1] for first, _ in answers] == list(range(5))
    assert os.getpid() not in {pid for (_, _, pid), _ in answers}


def test_what_fails_in_either_step_is_told_as_it_would_be_without_copies(two):
    def then(number, found):
        if number == 1:
            raise ValueError(f"then {found}")
        return found

    with pytest.raises(ValueError, match="then 10"):
        at_once_and_then(lambda k: 10 * k, then, 4)
    # what cannot travel does not keep the step after it from being asked
    assert [second for _, second in at_once_and_then(lambda k: Held(), lambda k, found: found.ask(), 3)] == [1, 1, 1]


def test_what_cannot_travel_is_asked_here(two):
    answers = at_once(lambda k: Held(), 3)
    assert all(answer.ask() == 1 for answer in answers)


def test_what_fails_is_told_as_it_would_be_without_copies(two):
    def ask(number):
        if number == 2:
            raise ValueError(f"number {number}")
        return number

    with pytest.raises(ValueError, match="number 2"):
        at_once(ask, 4)


def test_a_copy_asks_within_itself(two):
    assert at_once(lambda k: sum(at_once(lambda j: k * j, 3)), 3) == [0, 3, 6]


def test_little_is_asked_here():
    assert set(at_once(lambda k: os.getpid(), 2)) == {os.getpid()}
