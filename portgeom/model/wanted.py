"""What port is wanted? Turns a target into a section at every slab.

The wanted section W is the section as cast with its roof bridged and moved to the line, its corners
recut, its walls moved out; or the target's own section. What has to come off is (W union cast) less cast.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.rays import read_outlines
from portgeom.geometry.surface import Surface, crossings
from portgeom.geometry.told_lengths import mm
from portgeom.geometry.union import padded
from portgeom.job.faults import JobError
from portgeom.job.values import Limits, Target
from portgeom.model.bridge import bridge_roof
from portgeom.model.edge import Edge, section_edges, upper_edges
from portgeom.model.lofted import LoftedPort
from portgeom.model.possible import target_fault
from portgeom.model.roof_end import RoofEnd, roof_end
from portgeom.model.steps import Steps, steps_of

LineFrom: TypeAlias = Literal["job", "bridge"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """The port wanted, slab by slab, on the port's chart.

    Attributes
    ----------
    name : str
        The target's, or "bridge" where the job gives none.
    line_from : "job" or "bridge"
        Whether the person said where the roof should run, or the tool guessed by bridging.
    rho_mm : (m, n) float
        Distances of the wanted section; those as cast where nothing else is wanted.
    polygons : tuple of (k, 2) float
        The wanted section at every slab, as the target makes it of the loft.
    edges : tuple of Edge
        Upper boundary of the wanted section at every slab; at a station, of the outline measured there.
    height_mm : (m,) float
        Crown of the wanted roof above the path.
    roof_end : RoofEnd
    """

    name: str
    line_from: LineFrom
    rho_mm: F64
    polygons: tuple[F64, ...]
    edges: tuple[Edge, ...]
    height_mm: F64
    roof_end: RoofEnd


@dataclass(frozen=True, slots=True)
class Pattern:
    """A finished port to copy: its surface, and whether left and right must be swapped."""

    surface: Surface
    mirrored: bool


def wanted_port(port: LoftedPort, target: Target | None, *, limits: Limits, pattern: Pattern | None = None) -> Wanted:
    """Return the wanted port.

    Raises
    ------
    JobError
        Where the target's line runs below the middle of a section, a corner radius does not fit, or the
        section planes would cross inside what is wanted.
    """
    wanted = _shaped(port, target, limits, pattern)
    _refuse_folds(port, wanted)
    return wanted


def _shaped(port: LoftedPort, target: Target | None, limits: Limits, pattern: Pattern | None) -> Wanted:
    end = roof_end(port.chart, port.port)
    if target is not None and (target.sections is not None or pattern is not None):
        return _from_sections(port, target.name, pattern, end)
    plan = target if target is not None else Target("bridge")
    steps = target_steps(port, target, limits=limits)
    rho, reshaped, at_stations = _applied(port, plan, steps, port.cast.measured())
    line_from: LineFrom = "bridge" if plan.roof is None else "job"
    return _wanted(plan.name, line_from, rho, reshaped, at_stations, end)


def target_steps(port: LoftedPort, target: Target | None, *, limits: Limits) -> Steps:
    """Return what a target that is given by lines, or by nothing, does to every slab of a port as cast.

    Raises
    ------
    JobError
        Where a line or a radius cannot be laid on the sections.
    """
    chart, polygons = port.chart, list(port.cast.surface.points_mm)
    plan = target if target is not None else Target("bridge")
    bridge = None
    if plan.roof is None:
        own = upper_edges(polygons)
        last = roof_end(chart, port.port).slab
        bridge = bridge_roof(chart, own, straightedge_mm=limits.straightedge_mm, last_slab=last)
    return steps_of(plan, chart, polygons, bridge)


def wanted_distances(port: LoftedPort, target: Target | None, steps: Steps) -> F64:
    """Return distances (m, n) of the sections that steps make of a port as cast."""
    return _applied(port, target if target is not None else Target("bridge"), steps, {})[0]


def _applied(
    port: LoftedPort, plan: Target, steps: Steps, measured: Mapping[int, F64]
) -> tuple[F64, list[F64], dict[int, F64]]:
    """Return distances and polygons of the wanted sections, and what becomes of the outlines measured at some slabs."""
    chart, cast = port.chart, port.cast
    polygons = list(cast.surface.points_mm)
    slabs = np.concatenate([np.arange(len(polygons)), np.fromiter(measured, dtype=np.intp)])
    # all at once: what it costs to reshape sections hardly grows with their number
    made = steps.applied(slabs, [*polygons, *measured.values()])
    reshaped, at_stations = made[: len(polygons)], dict(zip(measured, made[len(polygons) :], strict=True))
    rho = _read_changed(chart, cast.surface.rho_mm, polygons, reshaped)
    if plan.throat_diameter_mm is not None:
        opened = _opened_throat(port, rho, plan.throat_diameter_mm)
        for j in np.flatnonzero((opened > rho).any(axis=1)):
            reshaped[j] = chart.rays.tips_mm(chart.centre_mm[j], chart.half_mm[j], opened[j])
        rho = opened
    return rho, reshaped, at_stations


def _refuse_folds(port: LoftedPort, wanted: Wanted) -> None:
    rows = port.cast.stage.sections.rows
    findings = crossings(port.chart, wanted.rho_mm)
    if findings:
        raise JobError(
            target_fault(
                f"target {wanted.name!r}",
                f"reaches so far into the bend that the planes of stations {rows[f.station - 1].station} and "
                f"{rows[f.station].station} of port {port.port.name} cross inside it",
                f.mend,
            )
            for f in findings
        )


def _wanted(
    name: str, line_from: LineFrom, rho: F64, polygons: list[F64], at_stations: dict[int, F64], end: RoofEnd
) -> Wanted:
    edges = section_edges(polygons, at_stations)
    height = frozen([e.crown_mm for e in edges])
    return Wanted(name, line_from, frozen(rho), tuple(polygons), edges, height, end)


def _read_changed(chart: Chart, cast_rho: F64, polygons: list[F64], reshaped: list[F64]) -> F64:
    """Return distances of the wanted sections; those as cast where the section was left alone."""
    changed = [j for j, (own, new) in enumerate(zip(polygons, reshaped, strict=True)) if new is not own]
    rho = cast_rho.copy()
    if changed:
        sections = padded([reshaped[j] for j in changed])
        reading = read_outlines(chart.rays, sections, chart.centre_mm[changed], chart.half_mm[changed])
        # a ray that the change did not touch keeps its distance to the last bit
        same = np.abs(reading.rho_mm - cast_rho[changed]) <= chart.tolerance.length_mm
        rho[changed] = np.where(same, cast_rho[changed], reading.rho_mm)
    return rho


def _opened_throat(port: LoftedPort, rho: F64, diameter_mm: float) -> F64:
    """Return distances with a round throat, faded out to the station before it."""
    chart = port.chart
    s, throat = chart.distance_mm, port.throat_mm
    slab = chart.slab_at(throat)
    before = float(chart.path.distance_mm[chart.path.distance_mm < throat].max(initial=s[0]))
    share = np.clip((s - before) / (throat - before), 0.0, 1.0) if throat > before else np.ones(len(s))
    share = np.where(s > throat, 1.0, share)
    centre = port.cast.surface.centroid_mm[slab]
    round_it = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    ring = centre + 0.5 * diameter_mm * np.column_stack([np.cos(round_it), np.sin(round_it)])
    reading = read_outlines(chart.rays, ring[None], chart.centre_mm[slab][None], chart.half_mm[slab][None])
    if not reading.inside[0]:
        raise JobError(
            (
                target_fault(
                    "throat_diameter",
                    f"{mm(diameter_mm, None)} does not reach round the middle of the throat",
                    "give the wanted throat's diameter",
                ),
            )
        )
    return rho + share[:, None] * np.maximum(0.0, reading.rho_mm[0] - rho)


def _from_sections(port: LoftedPort, name: str, pattern: Pattern | None, end: RoofEnd) -> Wanted:
    chart, cast = port.chart, port.cast
    s = chart.distance_mm
    if pattern is not None:
        copied = copied_onto(chart, pattern)
        rho, inside = copied.rho_mm, copied.covered
        polygons = list(chart.tips_mm(rho))
    else:
        assert port.pattern is not None
        rho = port.pattern.surface.rho_mm
        first, last = float(port.pattern.distance_mm[0]), float(port.pattern.distance_mm[-1])
        polygons = list(port.pattern.surface.points_mm)
        near = chart.tolerance.length_mm
        inside = (s >= first - near) & (s <= last + near)
    rho = np.where(inside[:, None], rho, cast.surface.rho_mm)
    own = cast.surface.points_mm
    sections = [polygons[j] if inside[j] else own[j] for j in range(len(s))]
    at_stations = {j: p for j, p in cast.measured().items() if not inside[j]}
    if pattern is None and port.pattern is not None:
        at_stations |= port.pattern.measured()
    return _wanted(name, "job", rho, sections, at_stations, end)


@dataclass(frozen=True, slots=True)
class Copied:
    """Another port's sections on a port's own chart.

    ``covered`` (m,) says at which slabs the other port was there to copy; ``rho_mm`` (m, n) means nothing elsewhere.
    """

    rho_mm: F64
    covered: Bool


def copied_onto(chart: Chart, pattern: Pattern) -> Copied:
    """Return another port's sections as distances on a chart, each at the same distance along its own path.

    Raises
    ------
    JobError
        Where a section of the other port does not reach round the middle of this one.
    """
    other = pattern.surface
    t = other.chart.distance_mm
    s = np.clip(chart.distance_mm, t[0], t[-1])
    points = other.points_mm
    after = np.clip(np.searchsorted(t, s, side="right"), 1, len(t) - 1)
    share = ((s - t[after - 1]) / (t[after] - t[after - 1]))[:, None, None]
    sections = (1.0 - share) * points[after - 1] + share * points[after]
    if pattern.mirrored:
        sections = sections[:, ::-1] * (-1.0, 1.0)
    reading = read_outlines(chart.rays, sections, chart.centre_mm, chart.half_mm)
    near = chart.tolerance.length_mm
    covered: Bool = (chart.distance_mm >= t[0] - near) & (chart.distance_mm <= t[-1] + near)
    if not reading.inside[covered].all():
        where = float(chart.distance_mm[covered][np.flatnonzero(~reading.inside[covered])[0]])
        raise JobError(
            (
                target_fault(
                    "copy_of",
                    f"the pattern does not reach round this port's middle at {mm(where)}",
                    "check that both paths run alike",
                ),
            )
        )
    return Copied(reading.rho_mm, covered)
