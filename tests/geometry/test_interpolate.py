"""The cubic between stations, against the library's and against its own promises."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from portgeom.geometry.interpolate import shape_preserving


def readings(seed: int, knots: int = 12, columns: int = 5) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    s = np.cumsum(rng.uniform(0.5, 15.0, knots))
    values = rng.normal(size=(knots, columns))
    values[3:5] = values[3]  # a level stretch
    values[:, 0] = np.sort(values[:, 0])
    return s, values


@pytest.mark.parametrize("seed", range(5))
def test_it_is_the_monotone_cubic_of_the_library(seed: int) -> None:
    s, values = readings(seed)
    at = np.sort(np.concatenate([s, np.random.default_rng(seed).uniform(s[0], s[-1], 200)]))
    assert shape_preserving(s, values, at) == pytest.approx(PchipInterpolator(s, values)(at), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_it_never_leaves_the_range_of_the_two_readings_beside_it(seed: int) -> None:
    s, values = readings(seed)
    at = np.linspace(s[0], s[-1], 3001)
    cell = np.clip(np.searchsorted(s, at, side="right") - 1, 0, len(s) - 2)
    low = np.minimum(values[cell], values[cell + 1])
    high = np.maximum(values[cell], values[cell + 1])
    curve = shape_preserving(s, values, at)
    rounding = 4.0 * np.finfo(float).eps * np.abs(values).max()
    assert (curve >= low - rounding).all()
    assert (curve <= high + rounding).all()


def test_a_reading_is_kept_to_the_last_bit() -> None:
    s, values = readings(7)
    assert np.array_equal(shape_preserving(s, values, s), values)


def test_two_readings_are_joined_by_a_straight_line() -> None:
    at = np.linspace(2.0, 6.0, 9)
    curve = shape_preserving(np.array([2.0, 6.0]), np.array([[1.0], [3.0]]), at)
    assert curve[:, 0] == pytest.approx(1.0 + 0.5 * (at - 2.0), rel=1e-15)


def test_leading_axes_are_curves_of_their_own() -> None:
    s, values = readings(11)
    at = np.linspace(s[0], s[-1], 50)
    draws = np.stack([values, 2.0 * values, values + 3.0])
    together = shape_preserving(s, draws, at)
    assert together.shape == (3, 50, values.shape[1])
    for draw, curve in zip(draws, together, strict=True):
        assert np.array_equal(curve, shape_preserving(s, draw, at))


def test_halving_the_spacing_divides_the_error_by_four_at_least() -> None:
    # second order at turning points, third elsewhere (Fritsch and Butland 1984)
    at = np.linspace(0.0, 2.0 * np.pi, 4001)
    errors = []
    for count in (9, 17, 33, 65):
        s = np.linspace(0.0, 2.0 * np.pi, count)
        errors.append(np.abs(shape_preserving(s, np.sin(s)[:, None], at)[:, 0] - np.sin(at)).max())
    order = np.log2(np.array(errors[:-1]) / errors[1:])
    assert (order > 1.9).all()
