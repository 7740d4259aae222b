"""Which states of a port can be shown, and how far does the roof of each stand over the line?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import Units
from portgeom.model.edge import ROOF_LEAN, bridged_edges, upper_edges
from portgeom.model.edge import roof_spans_mm as concave_spans_mm
from portgeom.output.charts.chart_style import ProudScale
from portgeom.output.charts.roof_edges import roof_edges
from portgeom.output.scene.port_scene import SEEN_MM
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.whole_job import WholeStage

MOST_STAGES = 6
"""Stages measured that can be switched between: the latest, and that asked about."""


@dataclass(frozen=True, slots=True)
class PortState:
    """One state of a port that can be shown: what it is called, in a list and in a legend."""

    name: str
    kind: str
    surface: Surface


def port_states(stage: WholeStage) -> tuple[PortState, ...]:
    """Return what can be shown of a port: stages as measured, after each pass, and the target.

    The stage asked about comes first; its kind is "now", of other stages "stage", after a pass "pass", and "target".
    """
    answer = stage.answers
    asked = answer.stage
    others = [s for s in answer.port.stages if s.stage.name != asked.stage.name][-(MOST_STAGES - 1) :]
    return (
        PortState(asked.stage.name, "now", asked.surface),
        *(PortState(r_name, "pass", r.after) for r in stage.cutting.results for r_name in (f"after {r.plan.name}",)),
        PortState(TARGET, "target", answer.removal.after),
        *(PortState(s.stage.name, "stage", s.surface) for s in others),
    )


@dataclass(frozen=True, slots=True)
class ShownStates:
    """The states of a port that can be shown, and their heights over the line.

    Attributes
    ----------
    states : tuple of PortState
    proud_mm : (k, m, n) float
        How far the places of each state stand over the line, slabs by rays; NaN off the roof.
    scale : ProudScale
        Of the heights of all of them.
    """

    states: tuple[PortState, ...]
    proud_mm: F64
    scale: ProudScale


def shown_states(stage: WholeStage, units: Units) -> ShownStates:
    """Return the states of a stage's port that can be shown, with heights over the line and their scale."""
    states = port_states(stage)
    proud = _proud_mm(stage, [s.surface for s in states])
    found = [stage.answers.roof.map.proud_mm, proud[1:]]
    known = np.concatenate([f[np.isfinite(f)] for f in found])
    lowest = float(known.min())
    scale = ProudScale.over(lowest if lowest <= -SEEN_MM else 0.0, float(known.max()), units)
    return ShownStates(states, frozen(proud), scale)


def _proud_mm(stage: WholeStage, surfaces: list[Surface]) -> F64:
    """Return how far places of the roof of some surfaces stand over the line (k, m, n), NaN off the roof.

    The roof runs sideways as far as that of the stage asked about, and of another state no further than its own:
    the walls of a port that was narrower then are no roof.
    """
    answer = stage.answers
    roof_map, edges = answer.roof.map, answer.wanted.edges
    ends = roof_edges(roof_map.distance_mm, roof_map.across_mm, roof_map.proud_mm)
    rows = len(ends.left)
    tips = np.stack([s.points_mm for s in surfaces])
    proud = np.full(tips.shape[:-1], np.nan)
    u, v = tips[:, :rows, :, 0], tips[:, :rows, :, 1]
    left, right = np.tile(ends.left, (len(surfaces), 1)), np.tile(ends.right, (len(surfaces), 1))
    for k, surface in enumerate(surfaces):
        if surface is answer.stage.surface:
            continue
        span = roof_spans_mm(tips[k, :rows])
        left[k], right[k] = np.maximum(ends.left, span[:, 0]), np.minimum(ends.right, span[:, 1])
    on = v > answer.stage.surface.chart.centre_mm[:rows, None, 1]
    on &= (u >= left[..., None]) & (u <= right[..., None])
    for row in np.flatnonzero(on.any(axis=(0, 2))):
        here = on[:, row]
        proud[:, row][here] = edges[row].height_mm(u[:, row][here]) - v[:, row][here]
    return proud


def roof_spans_mm(sections_mm: F64) -> F64:
    """Return from where to where (m, 2) across each of some sections (m, n, 2) its bridged upper boundary is roof.

    Between its widest places the upper boundary turns from one wall over the roof into the other. Bridged, it has
    turned into roof where a line that leans as a wall's end does touches it from outside: where v less the slope
    times u is greatest. So nothing has to be bridged, and what a wall does beyond that place does not matter; only
    a section that doubles back on the way from one such place to the other is asked the long way.
    """
    u, v = sections_mm[..., 0], sections_mm[..., 1]
    after, length = _upper_boundary(u, v)
    low = np.where(after <= length, v, -np.inf)
    first, last = np.argmax(low - ROOF_LEAN * u, axis=1), np.argmax(low + ROOF_LEAN * u, axis=1)
    rows = np.arange(len(u))
    spans = np.column_stack([u[rows, first], u[rows, last]])
    on_left, on_right = after[rows, first, None], after[rows, last, None]
    # places beyond either end must lie further out, and between both u must fall
    odd = (after < on_right) & (u < spans[:, 1:])
    odd |= (after > on_left) & (after <= length) & (u > spans[:, :1])
    odd |= (after >= on_right) & (after < on_left) & (np.roll(u, -1, axis=1) >= u)
    long_way = np.flatnonzero(odd.any(axis=1))
    if len(long_way):
        spans[long_way] = concave_spans_mm(bridged_edges(upper_edges(list(sections_mm[long_way]))))
    return spans


def _upper_boundary(u: F64, v: F64) -> tuple[Int, Int]:
    """Return how many places (m, n) on along a section's upper boundary each is, and how many (m, 1) that has.

    The boundary runs anticlockwise from the upper widest place on the right to that on the left.
    """
    n = u.shape[1]
    high, low = u.max(axis=1, keepdims=True), u.min(axis=1, keepdims=True)
    near = 1e-9 * (high - low)
    right = np.argmax(np.where(u >= high - near, v, -np.inf), axis=1)[:, None]
    left = np.argmax(np.where(u <= low + near, v, -np.inf), axis=1)[:, None]
    return (np.arange(n) - right) % n, (left - right) % n
