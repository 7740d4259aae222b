"""What copies of the process answer is what it would answer itself, in order, with the same objects in it."""

from __future__ import annotations

import os

import numpy as np
import pytest

from portgeom.geometry import at_once as module
from portgeom.geometry.arrays import frozen
from portgeom.geometry.at_once import at_once

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
