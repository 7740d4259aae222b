"""A proposed target, written out, is read back the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from portgeom.job.read import read_job
from portgeom.job.values import CutPass, Line, Target, Units
from portgeom.output.words.target_toml import passes_toml, target_toml

JOB = """\
title = "One port"
units = "{units}"
material = "grey iron"
[[port]]
name = "1"
kind = "intake"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[cutter]]
name = "ball"
shape = "ball"
diameter = 0.4
length = 0.4
shank = 0.2
reach = 4
"""

CAST = "station,distance,shape,width,height,radius\n1,0,rectangle,4,3,0.8\n2,8,rectangle,4,3,0.8\n"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_lines_and_passes_come_back(tmp_path: Path, units: Units) -> None:
    step = 0.01 if units == "mm" else 0.0127
    rows = np.array([[0.0, 1.0], [1.5, 1.2], [2.0, 0.9]]) * step * 100.0
    target = Target(
        'tall "b" \\ é',
        roof=Line(rows),
        widen=np.column_stack([rows, rows[:, 1] * 0.0]),
        floor_line=Line(rows * [1.0, -1.0]),
    )
    passes = (CutPass("one", "blend", "left", "ball", from_mm=rows[1, 0], to_mm=rows[2, 0]),)
    text = JOB.format(units=units) + target_toml(target, units) + passes_toml(passes, units)
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    (tmp_path / "cast.csv").write_text(CAST, encoding="utf-8")
    job = read_job(tmp_path)
    (back,) = job.targets
    assert back.name == target.name
    assert target.roof is not None
    assert back.roof is not None
    assert back.roof.rows == pytest.approx(target.roof.rows, abs=1e-4 * step * 100.0)
    assert back.widen == pytest.approx(target.widen, abs=1e-4 * step * 100.0)
    assert job.passes[0].from_mm == pytest.approx(passes[0].from_mm, abs=1e-4)
    assert [p.side for p in job.passes] == ["left"]
