"""The roof bridged by a straightedge along the port, and what it leaves alone."""

from __future__ import annotations

from collections.abc import Callable
from math import pi
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle
from portgeom.model.bridge import Bridge, bridge_roof, highest_chords
from portgeom.model.edge import upper_edge
from portgeom.model.lofted import LoftedPort

Loft: TypeAlias = Callable[..., LoftedPort]
STEP = 2.0
S = np.arange(0.0, 100.0 + STEP, STEP)


def bridged(port: LoftedPort, straightedge: float = 40.0) -> Bridge:
    edges = [upper_edge(p) for p in port.cast.surface.points_mm]
    last = len(port.chart.distance_mm) - 1
    return bridge_roof(port.chart, edges, straightedge_mm=straightedge, last_slab=last)


def hollowed(depth: F64, corner: float = 9.5) -> list[Outline]:
    """Return sections whose whole roof hangs by a depth."""
    radii = CornerRadii(corner, corner, 6.0, 6.0)
    return [rectangle(42.0, 50.0 - d, radii).moved(0.0, -0.5 * d) for d in depth]


def lift_along(bridge: Bridge, port: LoftedPort) -> F64:
    """Return the lift of the middle column at the stations."""
    middle = np.array([bridge.lift_at_mm(int(j), np.array([0.0]))[0] for j in port.cast.slab])
    return middle


def dent(length: float, depth: float) -> F64:
    """Return a parabolic dent in the middle of the port."""
    return depth * np.maximum(0.0, 1.0 - ((S - 50.0) / (0.5 * length)) ** 2)


@pytest.mark.parametrize("depth", [1.0, 5.0])
def test_a_dent_shorter_than_the_straightedge_reads_its_depth(lofted: Loft, depth: float) -> None:
    port = lofted(S, hollowed(dent(25.0, depth)))
    lift = lift_along(bridged(port), port)
    assert lift.max() == pytest.approx(depth, abs=0.005)
    assert lift == pytest.approx(dent(25.0, depth), abs=0.005)


def test_a_hollow_longer_than_the_straightedge_reads_only_what_the_straightedge_clears(lofted: Loft) -> None:
    # a parabola 80 long and 6 deep: a chord of 40 over its middle clears depth (40/80)^2; chords further out,
    # on the steeper part, clear as much: the second difference is the same everywhere
    port = lofted(S, hollowed(dent(80.0, 6.0)))
    lift = lift_along(bridged(port), port)
    assert lift[len(S) // 2] == pytest.approx(6.0 * (40.0 / 80.0) ** 2, abs=0.02)


@pytest.mark.parametrize("straightedge", [10.0, 20.0, 40.0, 60.0])
def test_the_bridge_is_the_highest_of_all_chords(lofted: Loft, straightedge: float) -> None:
    # every chord tried one by one, over the loft's own roof
    rng = np.random.default_rng(3)
    s = np.arange(0.0, 101.0, 10.0)
    port = lofted(s, hollowed(rng.uniform(0.0, 4.0, len(s)), corner=0.0))
    t = port.chart.distance_mm
    roof = port.cast.surface.points_mm[:, port.chart.rays.fan + port.chart.rays.flat // 2, 1]
    best = roof.copy()
    for a in range(len(t)):
        for b in range(a + 1, len(t)):
            if t[b] - t[a] <= straightedge + 1e-9:
                inside = slice(a, b + 1)
                best[inside] = np.maximum(best[inside], np.interp(t[inside], [t[a], t[b]], [roof[a], roof[b]]))
    bridge = bridged(port, straightedge)
    lift = np.array([bridge.lift_at_mm(j, np.array([0.0]))[0] for j in range(len(t))])
    assert lift == pytest.approx(best - roof, abs=1e-9)


@pytest.mark.parametrize("stretch", [0.997, 1.0, 1.003])
def test_chords_that_end_between_wide_slabs_are_those_of_fine_ones(stretch: float) -> None:
    s = stretch * np.arange(0.0, 91.0, 5.0)
    rough = 0.3 * np.random.default_rng(1).normal(size=len(s))
    v = 16.0 - 3.0 * np.exp(-(((s / stretch - 40.0) / 9.0) ** 2)) + rough
    fine = np.unique(np.concatenate([np.linspace(0.0, s[-1], 1800), s]))
    highest = highest_chords(fine, np.interp(fine, s, v)[:, None], 40.0)[:, 0]
    found = highest_chords(s[None], v[None, :, None], 40.0, ends_between=True)[0, :, 0]
    assert np.abs(found - highest[np.searchsorted(fine, s)]).max() < 0.01


def test_the_first_and_last_station_cannot_be_spanned(lofted: Loft) -> None:
    hang = 4.0 * np.exp(-((S / 15.0) ** 2))
    port = lofted(S, hollowed(hang))
    lift = lift_along(bridged(port), port)
    assert lift[0] == 0.0
    assert lift[-1] == 0.0


CLEAN = {
    "straight": hollowed(np.zeros(len(S))),
    "sagging gently": hollowed(1.5 * np.sin(pi * S / 100.0)),
    "arched": hollowed(1.5 * (1.0 - np.sin(pi * S / 100.0))),
    "climbing": hollowed(0.06 * S),
    "round": [circle(46.0)] * len(S),
    "narrowing round": [circle(46.0 - 0.05 * x) for x in S],
    "corner radius growing": [
        rectangle(42.0, 50.0, CornerRadii(r, r, 6.0, 6.0)) for r in np.interp(S, [0.0, 100.0], [4.0, 20.0])
    ],
    "corner radius growing and shrinking": [
        rectangle(42.0, 50.0, CornerRadii(r, r, 6.0, 6.0)) for r in np.interp(S, [0.0, 50.0, 100.0], [6.0, 16.0, 8.0])
    ],
    "rectangle to obround": [
        rectangle(42.0, 50.0, CornerRadii(r, r, r, r)) for r in np.interp(S, [0.0, 100.0], [5.0, 21.0])
    ],
    "obround": [obround(52.0, 34.0)] * len(S),
}


@pytest.mark.parametrize("name", CLEAN)
def test_a_clean_roof_shows_no_bulge_over_0_6_mm(lofted: Loft, name: str) -> None:
    port = lofted(S, CLEAN[name])
    bridge = bridged(port)
    assert bridge.lift_mm.max() < 0.6
    assert bridge.lift_mm.min() >= 0.0


def test_a_boss_between_two_stretches_of_level_roof_is_lifted_by_what_hangs(lofted: Loft) -> None:
    # a boss off the middle, 6 mm high, 24 mm wide and long
    def section(x: float) -> Outline:
        u = np.linspace(20.999, -20.999, 201)
        away = np.minimum(1.0, np.hypot(x - 50.0, u - 3.0) / 12.0)
        roof = np.column_stack([u, 25.0 - 6.0 * np.cos(0.5 * pi * away) ** 2])
        return Outline.polygon(np.concatenate([roof, [(-21.0, 20.0), (-21.0, -25.0), (21.0, -25.0), (21.0, 20.0)]]))

    port = lofted(S, [section(x) for x in S])
    bridge = bridged(port)
    slab = port.chart.slab_at(50.0)
    across = np.linspace(-12.0, 18.0, 31)
    away = np.minimum(1.0, np.abs(across - 3.0) / 12.0)
    expected = 6.0 * np.cos(0.5 * pi * away) ** 2
    assert bridge.lift_at_mm(slab, across) == pytest.approx(expected, abs=0.06)
