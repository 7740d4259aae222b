"""What the page's script is told of a port is the port: places to a micrometre, heights and walls to a shade."""

from __future__ import annotations

import base64
import json
from dataclasses import replace

import numpy as np
import pytest

import portgeom.output.report.shown_states as shown_states_module
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Line, Target
from portgeom.model.edge import bridged_across, roof_span_mm, upper_edge, upper_edges
from portgeom.output.report.packed import CODES, NONE
from portgeom.output.report.port_data import cells_for, chosen_grid, port_data
from portgeom.output.report.shown_states import port_states, roof_spans_mm, shown_states
from portgeom.output.scene.port_scene import skin_proud_mm
from portgeom.questions.walls.seen import walls_seen_mm
from portgeom.questions.walls.walls import wall_map

CELLS = 6000


def told_of(asked, whole, units="mm"):
    all_of = whole(asked, units)
    return port_data(all_of, all_of.stages[0], shown_states(all_of.stages[0], units), (), CELLS)


def array(url, kind):
    return np.frombuffer(base64.b64decode(url.partition(",")[2]), dtype=kind)


def laid_out(told, state):
    """Return the places (slabs, rays, 3) in the head that the numbers stand for, by the rays' own definition."""
    m, n = told["slabs"], told["rays"]
    rho = array(state["rho"], "<u2").reshape(m, n) * told["rho_step"]
    foot, direction = array(told["foot"], "<f4"), array(told["direction"], "<f4").reshape(n, 2)
    centre, half = array(told["centre"], "<f4").reshape(m, 2), array(told["half"], "<f4")
    u = centre[:, :1] + half[:, None] * foot + rho * direction[:, 0]
    v = centre[:, 1:] + rho * direction[:, 1]
    origin, right, up = (array(told[name], "<f4").reshape(m, 3) for name in ("origin", "right", "up"))
    return origin[:, None] + u[..., None] * right[:, None] + v[..., None] * up[:, None]


@pytest.mark.parametrize(("name", "units", "per"), [("drilled", "mm", 1.0), ("bend", "in", 1.0 / 25.4)])
def test_places_are_the_surfaces_own(request, whole, name, units, per):
    asked = request.getfixturevalue(name)
    told = told_of(asked, whole, units)
    answer = asked.answers[0]
    surface = answer.stage.surface
    grid = chosen_grid(surface, answer.stage.slab, CELLS)
    skin = surface.chart.planes.world_mm(surface.points_mm)[np.ix_(grid.slabs, grid.rays)]
    step = told["rho_step"] / per
    assert step < 0.002
    # half a step of the distance, and 32-bit places of a port some 100 mm long
    assert np.abs(laid_out(told, told["states"][0]) / per - skin).max() < 0.5 * step + 2e-5


def test_every_station_and_the_middle_of_the_roof_are_among_the_places(pair):
    answer = pair.answers[1]
    chart = answer.port.chart
    for cells in (4500, 9000, 14000):
        grid = chosen_grid(answer.stage.surface, answer.stage.slab, cells)
        assert set(answer.stage.slab) <= set(grid.slabs)
        assert chart.rays.fan + chart.rays.flat // 2 in grid.rays
        assert len(grid.slabs) * len(grid.rays) == pytest.approx(cells, rel=0.2)
        assert {0, len(chart.distance_mm) - 1} <= set(grid.slabs)


def test_heights_are_those_of_the_roof_map(drilled, whole):
    told = told_of(drilled, whole)
    answer = drilled.answers[0]
    grid = chosen_grid(answer.stage.surface, answer.stage.slab, CELLS)
    code = array(told["states"][0]["proud"], "u1").reshape(told["slabs"], told["rays"])
    low, high = told["proud"]["low"], told["proud"]["high"]
    expected = skin_proud_mm(answer.stage.surface, answer.roof.map)[np.ix_(grid.slabs, grid.rays)]
    both = (code != NONE) & np.isfinite(expected)
    assert both.sum() > 0.95 * np.isfinite(expected).sum()
    off = np.abs(low + code[both] * (high - low) / CODES - expected[both])
    half = 0.5 * (high - low) / CODES
    # at the cap's edge, which rises 4 in 3, the map goes straight between columns half a millimetre apart
    assert off.max() < half + 0.25 * 4.0 / 3.0
    assert np.quantile(off, 0.98) < half + 0.02


def test_walls_seen_are_those_of_the_wall_map(drilled, cut):
    cutting = cut(drilled)[0]
    surface = drilled.answers[0].stage.surface
    whole_map = wall_map(surface, cutting.hazards).wall_mm
    slabs, rays = np.arange(0, len(surface.rho_mm), 7), np.arange(0, surface.rho_mm.shape[1], 5)
    seen = walls_seen_mm(surface, cutting.hazards, slabs, rays)
    expected = whole_map[np.ix_(slabs, rays)]
    np.testing.assert_array_equal(np.isinf(seen), np.isinf(expected))
    near = np.isfinite(expected)
    assert near.any()
    np.testing.assert_allclose(seen[near], expected[near], atol=1e-9)


def test_states_are_as_measured_after_each_pass_and_the_target(drilled, plain, whole):
    states = port_states(whole(drilled).stages[0])
    assert [(s.kind, s.name) for s in states] == [
        ("now", drilled.answers[0].stage.stage.name),
        ("pass", "after grooves"),
        ("pass", "after level"),
        ("pass", "after blend"),
        ("target", "target"),
    ]
    assert [s.kind for s in port_states(whole(plain).stages[0])] == ["now", "target"]


def test_shapes_of_many_ports_fit_the_page(drilled, whole):
    one = whole(drilled)
    many = replace(one, stages=one.stages * 16)
    per_state = cells_for(many)
    data = json.dumps(port_data(many, many.stages[0], shown_states(many.stages[0], "mm"), (), per_state))
    assert 16 * len(data) < 4_000_000
    assert cells_for(one) > per_state


@pytest.mark.parametrize("widened", [0.0, 2.0])
def test_an_earlier_stage_reads_its_own_height_over_the_line(asking, whole, job_of, table_of, widened):
    """The roof hung 3 mm below the line before it was cut; a scale laid over the finished port alone cannot say so."""
    s = np.linspace(0.0, 100.0, 6)
    corners = CornerRadii(6.0, 6.0, 6.0, 6.0)
    cast = [rectangle(42.0, 47.0, corners).moved(0.0, -1.5)] * 6
    finished = [rectangle(42.0 + widened, 50.0, corners)] * 6
    target = Target("line", roof=Line(np.array([[0.0, 25.0], [100.0, 25.0]])))
    asked = asking(job_of(table_of(s, cast), table_of(s, finished), target=target))
    told = told_of(asked, whole)
    state = next(x for x in told["states"] if x["name"] == "as cast")
    code = array(state["proud"], "u1").reshape(told["slabs"], told["rays"])
    low, high = told["proud"]["low"], told["proud"]["high"]
    read = low + code[code != NONE] * (high - low) / CODES
    # its corners are carried with the roof; a wall of it that lies under the wider finished roof is none
    assert read == pytest.approx(3.0, abs=0.5 * (high - low) / CODES + 0.02)


def bridged_spans(sections):
    return [roof_span_mm(bridged_across(upper_edge(p))) for p in sections]


def test_roofs_spans_are_those_of_the_bridged_upper_boundary(drilled, whole):
    for state in port_states(whole(drilled).stages[0]):
        tips = state.surface.points_mm
        np.testing.assert_allclose(roof_spans_mm(tips), bridged_spans(tips), atol=1e-9)


def test_a_roof_of_straight_slopes_spans_what_leans_less_than_sixty_degrees():
    """Slopes of 2 in 1 lean 63 degrees, of 1 in 1 lean 45: the roof runs between the corners where they meet."""
    u = np.array([10.0, 9.0, 6.0, 0.0, -5.0, -8.0, -10.0, 0.0])
    v = np.array([0.0, 2.0, 5.0, 6.0, 4.0, 3.0, -1.0, -8.0])
    np.testing.assert_allclose(roof_spans_mm(np.column_stack([u, v])[None]), [[-8.0, 9.0]])


def test_a_wall_that_doubles_back_is_no_roof():
    """The same section with its right wall drawn in under the roof: asked the long way."""
    u = np.array([10.0, 7.0, 9.5, 9.0, 6.0, 0.0, -5.0, -8.0, -10.0, 0.0])
    v = np.array([-2.0, -1.0, 1.0, 2.0, 5.0, 6.0, 4.0, 3.0, -1.0, -8.0])
    section = np.column_stack([u, v])
    np.testing.assert_allclose(roof_spans_mm(np.stack([section, section])), bridged_spans([section] * 2))
    np.testing.assert_allclose(roof_spans_mm(section[None]), [[-8.0, 9.0]])


def test_only_sections_that_double_back_over_the_roof_are_bridged(drilled, whole, monkeypatch):
    """A wall that is upright, or drawn in below the roof, is no reason to ask the long way."""
    states = port_states(whole(drilled).stages[0])
    asked = []
    monkeypatch.setattr(shown_states_module, "upper_edges", lambda some: asked.extend(some) or upper_edges(some))
    for state in states:
        roof_spans_mm(state.surface.points_mm)
    assert len(asked) < 0.02 * sum(len(s.surface.rho_mm) for s in states)
