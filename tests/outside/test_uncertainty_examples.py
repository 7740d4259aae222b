"""The engine that draws readings, held against the worked examples of the standards.

JCGM 101:2008, Evaluation of measurement data, Supplement 1, clause 9; JCGM 100:2008, annex H.1; NIST Statistical
Reference Datasets, univariate summary statistics. Draws come from ``chance``, summaries from ``interval``, as those of
a port do.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.questions.uncertainty.chance import normals, stream
from portgeom.questions.uncertainty.interval import (
    shortest_interval,
    standard_uncertainty,
    symmetric_interval,
)

DRAWS = 1_000_000
SEED = 101


def uniform(name: str, low: float, high: float) -> F64:
    return stream(SEED, name).uniform(low, high, DRAWS)


def normal(name: str, mean: float, sd: float) -> F64:
    return mean + sd * normals(SEED, name, shape=(DRAWS,))


def student(name: str, mean: float, scale: float, freedom: int) -> F64:
    return mean + scale * stream(SEED, name).standard_t(freedom, DRAWS)


def curved_trapezoid(name: str, low: float, high: float, inexact: float) -> F64:
    """A rectangle whose ends are themselves only known to within ``inexact`` (JCGM 101, 6.4.3.4)."""
    r = stream(SEED, name).uniform(size=(2, DRAWS))
    start = (low - inexact) + 2.0 * inexact * r[0]
    return start + ((low + high) - 2.0 * start) * r[1]


def half_width(draws: F64) -> float:
    interval = shortest_interval(draws)
    return 0.5 * (interval.high - interval.low)


def test_four_normals_add_up() -> None:
    # JCGM 101, 9.2.2: y 0, u 2.00, 95 percent +-3.92
    y = np.sum([normal(f"x{k}", 0.0, 1.0) for k in range(4)], axis=0)
    assert y.mean() == pytest.approx(0.0, abs=0.01)
    assert standard_uncertainty(y) == pytest.approx(2.00, abs=0.01)
    assert half_width(y) == pytest.approx(3.92, abs=0.02)
    both = symmetric_interval(y)
    assert (both.low, both.high) == (pytest.approx(-3.92, abs=0.02), pytest.approx(3.92, abs=0.02))


def test_four_rectangles_add_up() -> None:
    # 9.2.3: four rectangular inputs of standard deviation 1: u 2.00, +-3.88
    y = np.sum([uniform(f"x{k}", -math.sqrt(3.0), math.sqrt(3.0)) for k in range(4)], axis=0)
    assert standard_uncertainty(y) == pytest.approx(2.00, abs=0.01)
    assert half_width(y) == pytest.approx(3.88, abs=0.02)


def test_one_rectangle_ten_times_as_wide() -> None:
    # 9.2.4: u 10.15, the first-order interval +-19.9, the drawn one +-17.0
    width = math.sqrt(3.0)
    parts = [uniform(f"x{k}", -width, width) for k in range(3)]
    y = np.sum([*parts, uniform("x3", -10.0 * width, 10.0 * width)], axis=0)
    assert standard_uncertainty(y) == pytest.approx(10.15, abs=0.02)
    assert half_width(y) == pytest.approx(17.0, abs=0.05)
    assert 1.96 * math.sqrt(3.0 + 100.0) == pytest.approx(19.9, abs=0.05)


def test_mass_calibration_sees_what_first_order_misses() -> None:
    # 9.3: drawn u 0.0754, first order 0.0539; interval 1.0834 to 1.3825 (the interval from memory)
    reference, small = normal("mR", 100_000.0, 0.05), normal("dm", 1.234, 0.02)
    air, weight, steel = uniform("air", 1.1, 1.3), uniform("W", 7000.0, 9000.0), uniform("R", 7950.0, 8050.0)
    y = (reference + small) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / steel)) - 100_000.0
    assert standard_uncertainty(y) == pytest.approx(0.0754, abs=0.0003)
    assert math.hypot(0.05, 0.02) == pytest.approx(0.0539, abs=0.0001)
    interval = shortest_interval(y)
    assert (interval.low, interval.high) == (pytest.approx(1.0834, abs=0.002), pytest.approx(1.3825, abs=0.002))


@pytest.mark.parametrize(
    ("x1", "mean", "u", "low", "high"),
    [
        # 9.4, in 1e-6, u(x) = 0.005, x2 = 0, no correlation
        (0.0, 50.0, 50.0, 0.0, 150.0),
        (0.010, 150.0, 112.0, 0.0, 367.0),  # the interval from memory
        (0.050, 2550.0, 502.0, 1590.0, 3543.0),  # from memory; 4e6 draws of another program give 1592 to 3549
    ],
)
def test_comparison_loss(x1: float, mean: float, u: float, low: float, high: float) -> None:
    y = 1e6 * (normal("x1", x1, 0.005) ** 2 + normal("x2", 0.0, 0.005) ** 2)
    assert y.mean() == pytest.approx(mean, rel=0.005, abs=0.2)
    assert standard_uncertainty(y) == pytest.approx(u, rel=0.004)
    interval = shortest_interval(y)
    assert interval.low == pytest.approx(low, abs=0.02 * u)
    assert interval.high == pytest.approx(high, abs=0.02 * u)


def test_comparison_loss_with_correlated_inputs() -> None:
    # 9.4.3.2: r = 0.9, x1 = 0.010: u 121e-6
    first, other = normal("a", 0.0, 1.0), normal("b", 0.0, 1.0)
    x1 = 0.010 + 0.005 * first
    x2 = 0.005 * (0.9 * first + math.sqrt(1.0 - 0.9**2) * other)
    assert standard_uncertainty(1e6 * (x1**2 + x2**2)) == pytest.approx(121.0, rel=0.005)


def test_gauge_block() -> None:
    # 9.5: 838 nm, u 36 nm drawn where first order has 32; 99 percent 745 to 932 nm. Inputs and interval from memory.
    length = student("ls", 50_000_623.0, 25.0, 18)
    difference = student("D", 215.0, 6.0, 24) + student("d1", 0.0, 4.0, 5) + student("d2", 0.0, 7.0, 8)
    expansion = uniform("alpha", 9.5e-6, 13.5e-6)
    warmth = normal("theta0", -0.1, 0.2) + 0.5 * np.sin(uniform("delta", -math.pi, math.pi))
    unlike = curved_trapezoid("dalpha", -1e-6, 1e-6, 0.1e-6)
    apart = curved_trapezoid("dtheta", -0.050, 0.050, 0.025)
    y = length + difference - length * (unlike * warmth + expansion * apart) - 50_000_000.0
    assert y.mean() == pytest.approx(838.0, abs=0.5)
    assert standard_uncertainty(y) == pytest.approx(36.0, abs=0.5)
    interval = shortest_interval(y, coverage=0.99)
    assert (interval.low, interval.high) == (pytest.approx(745.0, abs=1.5), pytest.approx(932.0, abs=1.5))


def test_gauge_block_to_first_order() -> None:
    # JCGM 100, H.1: u_c 32 nm from 25, 16.599, 6.7, 5.8, 3.9 and 2.887 nm, drawn as normal errors
    parts = (25.0, 16.599, 6.7, 5.8, 3.9, 2.887)
    y = np.sum([normal(f"part {k}", 0.0, u) for k, u in enumerate(parts)], axis=0)
    assert standard_uncertainty(y) == pytest.approx(math.sqrt(sum(u * u for u in parts)), rel=0.003)
    assert round(standard_uncertainty(y)) == 32


def test_many_equal_digits_in_front() -> None:
    # NIST StRD NumAcc4: mean 10000000.2 and standard deviation 0.1, both exact; NumAcc1: standard deviation 1
    values = np.array([10_000_000.2, *np.tile([10_000_000.1, 10_000_000.3], 500)])
    assert standard_uncertainty(values) == pytest.approx(0.1, rel=1e-7)
    assert standard_uncertainty(np.array([10_000_001.0, 10_000_003.0, 10_000_002.0])) == 1.0


def test_repeated_measurements_of_the_speed_of_light() -> None:
    # NIST StRD Michelso: 100 values, mean 299.8524, standard deviation 0.0790105478190518. The values from memory;
    # that mean and deviation come out as certified to all digits says that they are right.
    last = [
        850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000, 1000, 960, 960,
        960, 940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880, 880, 830, 800, 790, 760, 800,
        880, 880, 880, 860, 720, 720, 620, 860, 970, 950, 880, 910, 850, 870, 840, 840, 850, 840, 840, 840,
        890, 810, 810, 820, 800, 770, 760, 740, 750, 760, 910, 920, 890, 860, 880, 720, 840, 850, 850, 780,
        890, 840, 780, 810, 760, 810, 790, 810, 820, 850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870,
    ]  # fmt: skip
    values = 299.0 + np.array(last) / 1000.0
    assert values.mean() == pytest.approx(299.8524, rel=1e-12)
    assert standard_uncertainty(values) == pytest.approx(0.0790105478190518, rel=1e-9)
