"""The chart of flow draws the answer's numbers, in the units shown, and no words overlap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from portgeom.output.charts.flow_chart import draw_flow, flow_chart, flow_drawing, write_flow_chart
from portgeom.output.charts.sheet import Curve, Words
from portgeom.output.words.flow_shown import flow_shown
from portgeom.output.words.shown import Shown
from portgeom.questions.flow.whole import all_states, flow_answers


@pytest.fixture(scope="module")
def answers(pair):
    return [flow_answers(pair.job, s) for s in all_states(pair.job, [a.port for a in pair.answers])]


@pytest.fixture(scope="module")
def fs(answers):
    return flow_shown(Shown("mm"), [a.state for a in answers], None)


def test_curves_are_the_answers_numbers(answers, fs):
    chart = flow_chart(answers, fs)
    for curve, answer in zip(chart.curves, answers, strict=True):
        np.testing.assert_allclose(curve.speed, answer.state.along.speed_m_s)
        assert len(curve.effective) == len(answer.state.points)
    assert chart.valve is not None
    assert chart.valve.opening.max() == pytest.approx(answers[0].valve.throat_net_mm2)
    assert chart.valve.quarter == pytest.approx(13.0)


def test_inches_and_feet_are_the_same_curve(answers):
    inches = flow_chart(answers[:1], flow_shown(Shown("in"), [answers[0].state], None))
    curve = inches.curves[0]
    assert curve.speed[0] * 0.3048 == pytest.approx(answers[0].state.along.speed_m_s[0])
    assert curve.distance[-1] * 25.4 == pytest.approx(122.0)
    assert inches.valve.throat * 645.16 == pytest.approx(answers[0].valve.throat_net_mm2)


def test_the_drawing_holds_every_place_and_both_axes(answers, fs):
    drawn = draw_flow(flow_chart(answers[:1], fs))
    words = [m.text for m in drawn.marks if isinstance(m, Words)]
    for expected in ("face", "pinch", "turn", "bowl", "throat", "valve lift, mm", "mean speed, m/s", "area, mm2"):
        assert expected in words
    assert len([m for m in drawn.marks if isinstance(m, Curve)]) >= 5
    inside = np.concatenate([m.points for m in drawn.marks if isinstance(m, Curve)])
    assert (inside >= 0.0).all()
    assert (inside[:, 0] <= drawn.width).all()
    assert (inside[:, 1] <= drawn.height).all()


def test_without_a_valve_there_is_speed_alone(answers, fs):
    bare = replace(answers[0], valve=None)
    drawn = draw_flow(flow_chart([bare], fs))
    assert drawn.height < draw_flow(flow_chart(answers[:1], fs)).height
    assert "valve lift, mm" not in [m.text for m in drawn.marks if isinstance(m, Words)]


@pytest.mark.parametrize("count", [1, 2])
def test_no_two_words_of_the_lower_chart_overlap(answers, fs, count):
    words = [m for m in draw_flow(flow_chart(answers[:count], fs)).marks if isinstance(m, Words) and not m.turned]
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}
    boxes = [
        (x := float(m.at[0]) - share[m.anchor] * m.width, x + m.width, float(m.at[1]), m.size, m.text) for m in words
    ]
    for k, (a0, a1, ay, size, text) in enumerate(boxes):
        for b0, b1, by, _, other in boxes[k + 1 :]:
            assert a1 <= b0 or b1 <= a0 or abs(ay - by) >= 0.8 * size, (text, other)


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_files_are_written_whole_and_not_over_one_that_is_there(answers, fs, tmp_path, kind):
    path = tmp_path / f"flow.{kind}"
    write_flow_chart(answers, fs, path)
    if kind == "png":
        with Image.open(path) as image:
            assert image.width > 1000
    else:
        assert "fastest" in path.read_text("utf-8")
    before = path.read_bytes()
    with pytest.raises(FileExistsError):
        write_flow_chart(answers[:1], fs, path)
    assert path.read_bytes() == before
    assert flow_drawing(answers, fs).name == "flow"
