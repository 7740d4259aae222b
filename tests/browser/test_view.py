"""The port in the round is drawn where geometry says, and answers fingers, keys and controls."""

from __future__ import annotations

import re

import numpy as np
import pytest
from PIL import Image, ImageDraw

PIXELS = """c => {
  const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
  let painted = 0, warm = 0, sum = 0;
  for (let k = 0; k < d.length; k += 4) {
    if (d[k + 3] < 128) continue;
    painted += 1;
    if (d[k] > d[k + 2] + 40) warm += 1;
    sum = (sum * 31 + d[k] + 7 * d[k + 1] + 13 * d[k + 2]) % 2147483647;
  }
  return {painted, warm, sum, wide: c.width, tall: c.height};
}"""

VIEWS = {"entry": (0.0, 0.0), "roof": (61.3, 44.7), "side": (90.0, 0.0), "seat": (0.0, -74.0)}


def axes_of(turn, tilt):
    """Return right, up and towards the person of a view turned about the head's upright, by the usual angles."""
    a, b = np.radians(turn), np.radians(tilt)
    out = np.array([np.sin(a) * np.cos(b), -np.cos(a) * np.cos(b), np.sin(b)])
    right = np.array([np.cos(a), np.sin(a), 0.0])
    return right, np.cross(out, right), out


def projected(surface, view, wide, tall):
    """Return where a surface's grid falls on a canvas (m, n, 2), as the page says it shows it: whole, in the middle."""
    skin = surface.chart.planes.world_mm(surface.points_mm)
    low, high = skin.reshape(-1, 3).min(axis=0), skin.reshape(-1, 3).max(axis=0)
    right, up, _ = axes_of(*VIEWS[view])
    scale = 1.02 * min(wide, 1.5 * tall) / np.linalg.norm(high - low)
    away = skin - 0.5 * (low + high)
    return np.stack([0.5 * wide + scale * (away @ right), 0.5 * tall - scale * (away @ up)], axis=-1)


def silhouette(surface, view, wide, tall):
    """Return how many pixels a surface covers, painted cell by cell."""
    at = projected(surface, view, wide, tall)[::2, ::2]
    image = Image.new("1", (wide, tall))
    pen = ImageDraw.Draw(image)
    beside = np.roll(at, -1, axis=1)
    for cell in np.stack([at[:-1], at[1:], beside[1:], beside[:-1]], axis=2).reshape(-1, 8):
        pen.polygon(cell.tolist(), fill=1)
    return int(np.asarray(image).sum())


@pytest.fixture
def port(open_report, example_file):
    opened = open_report(example_file)
    part = opened.port(2)
    opened.drawn(part)
    opened.part = part
    yield opened
    assert opened.errors == []


def pixels(opened):
    return opened.drawn(opened.part).evaluate(PIXELS)


@pytest.mark.parametrize("view", list(VIEWS))
def test_port_covers_the_pixels_that_its_outline_does(port, example, view):
    port.part.locator(f'[data-view="{view}"]').click()
    seen = pixels(port)
    expected = silhouette(example.stages[1].answers.stage.surface, view, seen["wide"], seen["tall"])
    # the words and the arrows in the corner are painted too
    assert seen["painted"] == pytest.approx(expected, rel=0.02, abs=900)


def test_roof_is_coloured_by_height_and_plain_where_asked(port):
    coloured = pixels(port)["warm"]
    assert coloured > 8_000
    port.part.locator('[data-control="colour"]').select_option("plain")
    assert pixels(port)["warm"] < 100
    assert port.part.locator("[data-bar]:visible").count() == 0


def test_walls_have_their_own_colours_and_scale(port):
    before = pixels(port)["sum"]
    port.part.locator('[data-control="colour"]').select_option("wall")
    assert pixels(port)["sum"] != before
    assert port.part.locator("[data-bar]:visible").get_attribute("data-bar") == "wall"


def test_the_target_has_no_metal_left_to_take_off(port):
    states = port.part.locator('[data-control="state"]')
    assert states.locator("option").all_inner_texts()[0] == "as cast"
    warm = pixels(port)["warm"]
    states.select_option(label="target")
    assert pixels(port)["warm"] < 0.2 * warm


def test_what_lies_behind_is_painted_beside_the_port(port):
    before = pixels(port)["painted"]
    port.part.locator('[data-control="hazards"]').check()
    image = port.drawn(port.part).evaluate(
        "c => {const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0;"
        " for (let k = 3; k < d.length; k += 4) n += d[k] > 20; return n;}"
    )
    assert image > before + 5_000


def test_a_cut_takes_off_what_lies_beyond_and_moves_with_the_slider(port):
    whole = pixels(port)["painted"]
    port.part.locator('[data-control="cut"]').select_option("1")
    slider = port.part.locator(".reading input")
    slider.fill("30")
    short = pixels(port)["painted"]
    slider.fill("80")
    longer = pixels(port)["painted"]
    assert short < longer < whole
    port.part.locator('[data-control="cut"]').select_option("3")
    assert pixels(port)["sum"] != longer


def test_arrow_keys_turn_plus_zooms_and_home_shows_the_whole(port):
    canvas = port.drawn(port.part)
    canvas.focus()
    start = pixels(port)
    seen = [start["sum"]]
    for key in ("ArrowRight", "ArrowUp", "+"):
        canvas.press(key)
        seen.append(pixels(port)["sum"])
    assert len(set(seen)) == len(seen)
    canvas.press("Home")
    assert pixels(port)["sum"] == start["sum"]


def test_dragging_turns_and_the_wheel_zooms_once_it_has_the_focus(port):
    canvas = port.drawn(port.part)
    box = canvas.bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"]
    before = pixels(port)
    port.page.mouse.move(x, y)
    port.page.mouse.wheel(0, -200)
    port.page.wait_for_timeout(200)
    assert pixels(port)["sum"] == before["sum"]
    canvas.evaluate("c => c.closest('.port').scrollIntoView()")
    box = canvas.bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"]
    port.page.mouse.move(x, y)
    port.page.mouse.down()
    port.page.mouse.move(x + 80, y, steps=4)
    port.page.mouse.up()
    turned = pixels(port)
    assert turned["sum"] != before["sum"]
    port.page.mouse.wheel(0, -300)
    assert pixels(port)["painted"] > turned["painted"]


def test_a_tap_on_the_peak_reads_its_place_and_height(port, example):
    answer = example.stages[1].answers
    canvas = port.drawn(port.part)
    box = canvas.bounding_box()
    seen = pixels(port)
    at = projected(answer.stage.surface, "roof", seen["wide"], seen["tall"])
    peak, chart = answer.roof.peak, answer.port.chart
    slab = chart.slab_at(peak.distance_mm)
    up = chart.rays.up
    ray = up.start + int(np.argmin(np.abs(answer.stage.surface.points_mm[slab, up, 0] - peak.across_mm)))
    x, y = at[slab, ray] * (box["width"] / seen["wide"])
    canvas.click(position={"x": float(x), "y": float(y)})
    told = port.part.locator(".picked").inner_text()
    distance, height = re.search(r"as cast: ([\d.]+) mm along the path.*; ([\d.]+) mm above the line", told).groups()
    # the nearest place shown is at most half a cell away, and heights are told to a tenth
    assert float(distance) == pytest.approx(peak.distance_mm, abs=1.5)
    assert float(height) == pytest.approx(peak.proud_mm, abs=0.3)
    assert "12 o'clock, roof" in told
    assert "metal behind the wall" in told
    assert f"At {float(distance):.1f} mm" in port.part.locator(".told").inner_text()


def test_two_fingers_zoom_and_one_tap_reads(open_report, example_file):
    opened = open_report(example_file, wide=360, tall=740, has_touch=True, is_mobile=True, device_scale_factor=2)
    part = opened.port(2)
    canvas = opened.drawn(part)
    opened.part = part
    before = pixels(opened)
    box = canvas.bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"]
    touch = opened.page.context.new_cdp_session(opened.page)

    def send(kind, *apart):
        points = [{"x": x + d, "y": y, "id": k} for k, d in enumerate(apart)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    send("touchStart", -20, 20)
    for d in (30, 40, 50, 60):
        send("touchMove", -d, d)
    send("touchEnd")
    assert pixels(opened)["painted"] > 1.5 * before["painted"]
    send("touchStart", 0)
    send("touchEnd")
    assert "along the path" in part.locator(".picked").inner_text()
    assert opened.errors == []
