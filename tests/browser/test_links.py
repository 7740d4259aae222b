"""One distance holds for every chart, the section and the words, whoever moves it."""

from __future__ import annotations

import re

import numpy as np
import pytest


@pytest.fixture
def port(open_report, example_file):
    opened = open_report(example_file, wide=1400, tall=1000)
    opened.part = opened.port(2)
    yield opened
    assert opened.errors == []


def hover(opened, name, distance):
    """Point at a distance on a chart, in the middle of the line that its own rows say stands for it."""
    svg = opened.part.locator(f"figure.{name} svg[data-cursor]")
    svg.scroll_into_view_if_needed()
    x, y = svg.evaluate(
        """(svg, s) => {
          const rows = svg.dataset.cursor.split(';').map(r => r.split(',').map(Number));
          let k = 1;
          while (k < rows.length - 1 && rows[k][0] < s) k += 1;
          const share = (s - rows[k - 1][0]) / (rows[k][0] - rows[k - 1][0]);
          const [, x0, y0, x1, y1] = rows[k].map((v, j) => rows[k - 1][j] + share * (v - rows[k - 1][j]));
          const p = new DOMPoint((x0 + x1) / 2, (y0 + y1) / 2).matrixTransform(svg.getScreenCTM());
          return [p.x, p.y];
        }""",
        distance,
    )
    opened.page.mouse.move(x, y)
    opened.page.wait_for_timeout(250)


def cursors(opened):
    """Return the distance that every chart shows its line at."""
    return opened.part.evaluate("e => [...e.querySelectorAll('path.cursor')].map(c => Number(c.dataset.distance))")


@pytest.mark.parametrize("name", ["side", "roof", "area"])
def test_hovering_one_chart_moves_the_line_in_all(port, name):
    hover(port, name, 42.0)
    shown = cursors(port)
    assert len(shown) >= 4
    # a pixel of the narrowest chart is a fifth of a millimetre
    assert shown == pytest.approx([42.0] * len(shown), abs=0.3)


def test_words_tell_the_areas_that_the_tables_have(port, example):
    hover(port, "area", 42.0)
    answer = example.stages[1].answers
    told = port.part.locator(".told").inner_text()
    at, now, then = (
        float(x) for x in re.search(r"At ([\d.]+) mm.*?area (\d+) mm2.*?(\d+) mm2 once", told, re.S).groups()
    )
    s = answer.port.chart.distance_mm
    assert now == pytest.approx(np.interp(at, s, answer.stage.surface.flow_area_mm2), abs=3.0)
    assert then == pytest.approx(np.interp(at, s, answer.removal.after.flow_area_mm2), abs=3.0)


def test_the_section_drawn_is_the_section_there(port, example):
    slider = port.part.locator(".reading input")
    slider.fill("42")
    port.page.wait_for_timeout(250)
    answer = example.stages[1].answers
    drawn = port.part.locator(".reading path.now").get_attribute("d")
    points = np.array([[float(v) for v in p.split(",")] for p in re.findall(r"[-\d.]+,[-\d.]+", drawn)])
    slab = answer.port.chart.slab_at(42.0)
    outline = answer.stage.surface.points_mm[slab]
    # width over height, whatever the scale
    assert np.ptp(points[:, 0]) / np.ptp(points[:, 1]) == pytest.approx(
        np.ptp(outline[:, 0]) / np.ptp(outline[:, 1]), rel=2e-3
    )


def test_arrow_keys_on_a_chart_go_a_millimetre_and_ten_with_shift(port):
    chart = port.part.locator("figure.area .draw")
    chart.focus()
    chart.press("Home")
    assert set(cursors(port)) == {0.0}
    chart.press("ArrowRight")
    chart.press("ArrowRight")
    assert cursors(port) == pytest.approx([2.0] * len(cursors(port)))
    chart.press("Shift+ArrowRight")
    assert port.part.locator(".reading input").input_value() == "12"


def test_the_slider_tells_its_value_with_its_unit(port):
    slider = port.part.locator(".reading input")
    slider.fill("30")
    assert slider.get_attribute("aria-valuetext") == "30.0 mm"
    assert port.part.locator(".told").get_attribute("aria-live") == "polite"


def test_one_ports_distance_leaves_the_other_alone(port):
    first = port.port(1)
    before = first.locator(".reading input").input_value()
    port.part.locator(".reading input").fill("100")
    assert first.locator(".reading input").input_value() == before
