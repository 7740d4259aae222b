"""Sketches in letters: counted letters against areas and heights, plain ASCII, within 80 columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, ellipse, rectangle
from portgeom.job.values import Limits
from portgeom.output.words.shown import Shown
from portgeom.output.words.sketch import AREA, COLUMNS, METAL, PATH, WALL, area_sketch, section_sketch
from portgeom.questions.shape.profile import profile
from portgeom.questions.templates.sections import PlacedSection

BOX = rectangle(40.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0))


def drawn(text: str) -> list[str]:
    return [line[4:] for line in text.split("\n")[2:-1]]


def section(present: Outline, wanted: Outline) -> PlacedSection:
    return PlacedSection("6", "", 42.0, present.points_mm, wanted.points_mm, False)


def test_metal_is_drawn_where_it_is_and_as_much_as_there_is(plain) -> None:  # type: ignore[no-untyped-def]
    # 10 mm over the roof of a box of 40 by 50: a sixth of the 60 by 40 that the picture shows
    raised = Outline.polygon([(-20.0, -25.0), (20.0, -25.0), (20.0, 35.0), (-20.0, 35.0)])
    rows = drawn(section_sketch(section(BOX, raised), plain.answers[0].port, Shown("mm")))
    step = 60.0 / len(rows)
    with_metal = [k for k, line in enumerate(rows) if METAL in line]
    assert len(with_metal) * step == pytest.approx(10.0, abs=step)
    assert with_metal == list(range(len(with_metal)))  # from the top down
    assert all(line.count(METAL) * 0.5 * step == pytest.approx(40.0, abs=step) for line in rows[: len(with_metal)])
    assert sum(line.count(PATH) for line in rows) == 1


def test_a_round_section_is_drawn_round(plain) -> None:  # type: ignore[no-untyped-def]
    rows = drawn(section_sketch(section(ellipse(40.0, 40.0), ellipse(40.0, 40.0)), plain.answers[0].port, Shown("mm")))
    wide = max(len(line) for line in rows) - min(len(line) - len(line.lstrip()) for line in rows)
    assert wide == pytest.approx(2 * len(rows), abs=2)  # a letter is twice as tall as it is wide
    ring = [line.replace(PATH, " ") for line in rows]  # the path may stand beside the middle
    for line, other in zip(ring, reversed(ring), strict=True):
        assert line == other
        assert line.strip() == line.strip()[::-1]
    assert not any(METAL in line for line in rows)
    assert all(WALL in line for line in rows)


def test_a_level_area_is_drawn_on_one_row_whatever_its_last_digits(ask: Callable) -> None:  # type: ignore[type-arg]
    answer = ask([0.0, 50.0, 100.0], [ellipse(50.0, 50.0)] * 3)
    result = profile(answer.port, answer.stage, Limits())
    shaken = result.flow_area_mm2 * (1.0 + 1e-12 * np.sin(np.arange(len(result.flow_area_mm2))))
    text = area_sketch(replace(result, flow_area_mm2=shaken), Shown("mm"))
    assert [line.split("|")[1] for line in text.split("\n") if AREA in line and "|" in line] == [AREA * COLUMNS]
    label = next(line.split("|")[0] for line in text.split("\n") if line.endswith(AREA * COLUMNS))
    assert float(label) == pytest.approx(np.pi * 25.0**2, rel=1e-3)


def test_the_area_falls_in_the_sketch_as_it_does_along_a_cone(ask: Callable) -> None:  # type: ignore[type-arg]
    answer = ask([0.0, 100.0], [ellipse(50.0, 50.0), ellipse(40.0, 40.0)])
    text = area_sketch(profile(answer.port, answer.stage, Limits()), Shown("mm"))
    rows = [line.split("|")[1].ljust(COLUMNS) for line in text.split("\n") if "|" in line]
    height = [[k for k, row in enumerate(rows) if row[c] == AREA] for c in range(COLUMNS)]
    assert all(len(h) == 1 for h in height)
    assert [h[0] for h in height] == sorted(h[0] for h in height)
    assert (height[0], height[-1]) == ([0], [len(rows) - 1])
    radius = np.linspace(25.0, 20.0, COLUMNS)
    wanted = (len(rows) - 1) * (25.0**2 - radius**2) / (25.0**2 - 20.0**2)
    assert [h[0] for h in height] == pytest.approx(wanted, abs=0.6)


def test_sixty_stations_and_hostile_names_stay_within_80_columns_of_ascii(ask: Callable) -> None:  # type: ignore[type-arg]
    answer = ask(np.linspace(0.0, 120.0, 60), [BOX] * 60)
    result = profile(answer.port, answer.stage, Limits())
    names = [replace(s, station=f"שער\x1b {k} " + "x" * 300) for k, s in enumerate(result.stations)]
    text = area_sketch(replace(result, stations=tuple(names)), Shown("in"))
    port = replace(answer.port, port=replace(answer.port.port, left_wall="w" * 300))
    text += "\n" + section_sketch(section(BOX, BOX), port, Shown("in"))
    assert text.isascii()
    assert max(map(len, text.split("\n"))) <= 80
