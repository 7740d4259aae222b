"""What is on a drawing, by kind."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from portgeom.output.charts.sheet import Sheet, Words


@pytest.fixture(scope="session")
def words_on() -> Callable[[Sheet], list[Words]]:
    """Return the function that gathers the texts of a drawing, in order."""
    return lambda drawn: [m for m in drawn.marks if isinstance(m, Words)]


@pytest.fixture(scope="session")
def told_on(words_on: Callable[[Sheet], list[Words]]) -> Callable[[Sheet], list[str]]:
    """Return the function that gathers what a drawing says."""
    return lambda drawn: [w.text for w in words_on(drawn)]


def box_of(words: Words) -> tuple[float, float, float, float]:
    """Return left, right, top and bottom of a text."""
    start = float(words.at[0]) - words.width * {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor]
    return start, start + words.width, float(words.at[1]) - 0.5 * words.size, float(words.at[1]) + 0.5 * words.size


@pytest.fixture(scope="session")
def boxes() -> Callable[[Words], tuple[float, float, float, float]]:
    """Return the function that tells where a text stands."""
    return box_of
