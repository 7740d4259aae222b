"""The wall of a passage, against surfaces of revolution (Machinery's Handbook, 31st ed., p. 93; Pappus)."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, pi

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.model.lofted import LoftedPort
from portgeom.questions.shape.wall_area import wall_area_mm2

Lofted = Callable[..., LoftedPort]


def test_a_tube_s_wall_is_its_girth_times_its_length(lofted: Lofted) -> None:
    port = lofted(np.linspace(0.0, 100.0, 5), [circle(40.0)] * 5)
    assert wall_area_mm2(port.cast.surface, to_mm=100.0) == pytest.approx(pi * 40.0 * 100.0, rel=5e-4)
    assert wall_area_mm2(port.cast.surface, to_mm=50.0) == pytest.approx(pi * 40.0 * 50.0, rel=5e-4)


def test_a_bend_s_wall_is_girth_times_the_way_of_its_middle(lofted: Lofted) -> None:
    # a quarter of the torus d = 1.5, D = 5: its whole surface is 74.022 (Machinery's Handbook p. 93), in tens of mm
    pitch = np.linspace(0.0, 90.0, 10)
    port = lofted(np.radians(pitch) * 25.0, [circle(15.0)] * 10, pitch_deg=pitch)
    whole = wall_area_mm2(port.cast.surface, to_mm=float(np.radians(90.0) * 25.0))
    assert whole == pytest.approx(0.25 * 74.022 * 100.0, rel=1e-3)


def test_a_cone_s_wall_runs_along_its_slant(lofted: Lofted) -> None:
    s = np.linspace(0.0, 60.0, 7)
    port = lofted(s, [circle(2.0 * r) for r in np.linspace(20.0, 26.0, 7)])
    slant = hypot(60.0, 6.0)
    assert wall_area_mm2(port.cast.surface, to_mm=60.0) == pytest.approx(pi * (20.0 + 26.0) * slant, rel=1e-3)
