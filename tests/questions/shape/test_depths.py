"""How deep a surface has been cut: nothing where nothing came off, and the closed form where a roof was raised."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, ellipse, rectangle
from portgeom.job.values import Line, Target
from portgeom.questions.shape.depths import depths_mm


def test_a_raised_flat_roof_is_as_deep_as_it_was_raised(ask) -> None:  # type: ignore[no-untyped-def]
    box = rectangle(40.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0))
    target = Target("up", roof=Line(np.array([[0.0, 27.0], [80.0, 27.0]])))
    answer = ask([0.0, 40.0, 80.0], [box] * 3, target=target)
    depth = depths_mm(answer.stage.surface, answer.removal.after)
    rays = answer.port.chart.rays
    middle = rays.fan + rays.flat // 2
    assert depth[:, middle] == pytest.approx(2.0, abs=1e-6)
    assert depth.max() == pytest.approx(2.0, abs=1e-3)
    floor = answer.removal.after.points_mm[..., 1] < 20.0
    assert (depth[floor] == 0.0).all()


def test_the_deepest_place_is_the_one_the_removal_tells(ask) -> None:  # type: ignore[no-untyped-def]
    target = Target("up", roof=Line(np.array([[0.0, 21.0], [50.0, 24.0], [100.0, 21.0]])))
    answer = ask(np.linspace(0.0, 100.0, 6), [ellipse(40.0, 40.0)] * 6, target=target, roof_end_mm=100.0)
    depth = depths_mm(answer.stage.surface, answer.removal.after)
    assert depth.max() == pytest.approx(answer.removal.deepest.depth_mm, abs=0.02)


def test_without_a_cut_there_is_no_depth(ask) -> None:  # type: ignore[no-untyped-def]
    answer = ask([0.0, 40.0], [ellipse(40.0, 40.0)] * 2)
    assert (depths_mm(answer.stage.surface, answer.stage.surface) == 0.0).all()
