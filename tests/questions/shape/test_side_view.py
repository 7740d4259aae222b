"""The port from its side, on a bend whose roof, floor and line are circles."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Line, Target
from portgeom.questions.shape.side_view import side_view
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]


def test_roof_floor_path_and_line_of_a_bend_are_circles_about_its_middle(ask: Ask, line: Callable[..., Line]) -> None:
    radius, pitch = 60.0, np.linspace(0.0, 80.0, 9)
    box = rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0))
    start = np.array([98.0, 5.0, 70.0])
    target = Target("up", roof=line((0.0, 28.0), (1000.0, 28.0)))
    answers = ask(radius * np.radians(pitch), [box] * 9, pitch_deg=pitch, target=target, position_mm=start)
    view = side_view(answers.port, answers.stage, answers.wanted)
    middle = start[1:] - (0.0, radius)
    for curve, out in ((view.path_mm, 60.0), (view.roof_mm, 85.0), (view.floor_mm, 35.0), (view.line_mm, 88.0)):
        assert np.hypot(*(curve - middle).T) == pytest.approx(np.full(len(curve), out), abs=1e-6)
    assert view.path_mm[0] == pytest.approx([5.0, 70.0])
    assert view.planes_mm.shape == (9, 2, 2)
    assert np.hypot(*(view.planes_mm[:, 1] - view.planes_mm[:, 0]).T) == pytest.approx(np.full(9, 50.0), abs=1e-6)
