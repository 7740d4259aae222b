"""What is behind a port's walls? Makes every hazard that concerns a port ready to be asked for its distance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.distance import cylinder_distance_mm, half_space_distance_mm
from portgeom.geometry.mesh_distance import mesh_distance
from portgeom.geometry.near import Distance
from portgeom.geometry.told_lengths import mm
from portgeom.job.faults import Gathered, Spot, shown
from portgeom.job.hazard_mesh import HazardMesh, read_hazard_mesh
from portgeom.job.values import Hazard, Job
from portgeom.model.lofted import LoftedPort
from portgeom.questions.walls.readings import ReadWalls, read_walls

LEAST_IRON_MM = 1.0
LEAST_ALUMINIUM_MM = 1.5
"""Less metal than this to any void is told whatever limit the job sets: common practice, castings vary so much."""

LIGHT_G_CC = 5.0
"""A casting lighter than this is taken for aluminium."""

SAMPLES = 9
"""Points along a hole's axis that are asked whether they lie in the passage."""

MESH_SAMPLES = 200
"""Corners of a mesh asked the same."""


@dataclass(frozen=True, slots=True)
class Thread:
    """The threaded part of a hole, from where its axis starts."""

    start_mm: F64
    axis: F64
    length_mm: float
    distance: Distance


@dataclass(frozen=True, slots=True)
class Behind:
    """A hazard ready to be asked.

    Attributes
    ----------
    hazard : Hazard
    limit_mm : float or None
        Least wall to it that the person accepts: its own, or the job's; None where neither is given.
    floor_mm : float
        Least wall that is sound in this material at all.
    wall_mm : Distance
        Metal between points (n, 3) and the hazard, what the casting may shift already taken off.
    samples_mm : (k, 3) float
        Points within the hazard.
    at_least_mm : Distance or None
        A quicker answer that is never above ``wall_mm`` outside the hazard, where asking is slow.
    deepest_mm : float
        No point within the hazard is further from its surface; so where the quicker answer is more, it is outside.
    signed : bool
        Whether points inside can be told from points outside.
    turned : bool
        Whether its mesh was inside out and had to be turned.
    thread : Thread or None
    readings : ReadWalls or None
        Where it is only known from readings; then ``wall_mm`` is NaN where nothing is known.
    """

    hazard: Hazard
    limit_mm: float | None
    floor_mm: float
    wall_mm: Distance
    samples_mm: F64
    at_least_mm: Distance | None = None
    deepest_mm: float = np.inf
    signed: bool = True
    turned: bool = False
    thread: Thread | None = None
    readings: ReadWalls | None = None

    @property
    def stop_mm(self) -> float:
        """Return the wall at which cutting has to stop: the limit, or what is sound at all."""
        return self.floor_mm if self.limit_mm is None else self.limit_mm

    def nearer(self, by_mm: float) -> Behind:
        """Return the hazard as a ball of radius ``by_mm`` meets it, asked by the ball's middle."""
        quick = self.at_least_mm
        return replace(
            self,
            wall_mm=_shifted(self.wall_mm, by_mm),
            at_least_mm=None if quick is None else _shifted(quick, by_mm),
        )


def least_sound_mm(density_g_cc: float) -> float:
    """Return the least wall that is sound in a casting of this density."""
    return LEAST_ALUMINIUM_MM if density_g_cc < LIGHT_G_CC else LEAST_IRON_MM


def behind(job: Job, port: LoftedPort, *, before: Sequence[Behind] = ()) -> tuple[Behind, ...]:
    """Return every hazard that concerns a port, ready to be asked.

    Those that were made ready ``before`` for the same port laid out a little differently stay as they are, but for
    readings, which go with its surface.

    Raises
    ------
    JobError
        With every mesh that cannot be read, and every reading outside the port.
    """
    gathered = Gathered()
    known = {id(h.hazard): h for h in before if h.readings is None}
    found = []
    for hazard in job.hazards:
        if not hazard.ports or port.port.name in hazard.ports:
            ready = known.get(id(hazard)) or _ready(job, port, hazard, gathered)
            if ready is not None:
                found.append(ready)
    gathered.refuse()
    return tuple(found)


def _ready(job: Job, port: LoftedPort, hazard: Hazard, gathered: Gathered) -> Behind | None:
    limit = job.min_wall_mm if hazard.min_wall_mm is None else hazard.min_wall_mm
    floor = least_sound_mm(job.density_g_cc)
    if hazard.shape == "cylinder":
        return _cylinder(hazard, limit, floor)
    if hazard.shape == "plane":
        return Behind(hazard, limit, floor, _less(_plane(port, hazard), hazard), frozen(np.empty((0, 3))))
    if hazard.shape == "readings":
        if not _within_port(port, hazard, gathered):
            return None
        read = read_walls(port.cast.surface, hazard.readings)
        nothing = frozen(np.empty((0, 3)))
        return Behind(hazard, limit, floor, _less(read.wall_mm, hazard), nothing, readings=read)
    mesh = read_hazard_mesh(hazard, job.folder, gathered)
    return None if mesh is None else _mesh(hazard, limit, floor, mesh)


def _less(distance: Distance, hazard: Hazard) -> Distance:
    """Return a distance with what the casting may have shifted taken off."""
    shift = hazard.casting_tolerance_mm
    return distance if shift == 0.0 else _shifted(distance, shift)


def _shifted(distance: Distance, by_mm: float) -> Distance:
    return lambda points: distance(points) - by_mm


def _cylinder(hazard: Hazard, limit: float | None, floor: float) -> Behind:
    start, end, diameter = hazard.start_mm, hazard.end_mm, hazard.diameter_mm
    assert start is not None
    assert end is not None
    assert diameter is not None

    def distance(points: F64) -> F64:
        return cylinder_distance_mm(points, start, end, diameter, drill_point=hazard.drill_point)

    thread = None
    length = float(np.linalg.norm(end - start))
    if hazard.thread_to_mm is not None:
        axis, threaded = (end - start) / length, min(hazard.thread_to_mm, length)
        if threaded > 0.0:
            thread = Thread(start, axis, threaded, _less(_threaded(start, axis, threaded, diameter), hazard))
    samples = start + np.linspace(0.0, 1.0, SAMPLES)[:, None] * (end - start)
    return Behind(hazard, limit, floor, _less(distance, hazard), frozen(samples), thread=thread)


def _threaded(start: F64, axis: F64, length: float, diameter: float) -> Callable[[F64], F64]:
    return lambda points: cylinder_distance_mm(points, start, start + length * axis, diameter)


def _plane(port: LoftedPort, hazard: Hazard) -> Distance:
    """Return the distance from a plane's open side, which is the side that the port's path is not on.

    Which way the job's normal points makes no difference: a port is never on the open side.
    """
    point, normal = hazard.point_mm, hazard.normal
    assert point is not None
    assert normal is not None
    side = float(np.median((port.chart.planes.origin_mm - point) @ normal))
    towards = normal if side >= 0.0 else -normal
    return lambda points: half_space_distance_mm(points, point, towards)


def _mesh(hazard: Hazard, limit: float | None, floor: float, mesh: HazardMesh) -> Behind:
    ready = mesh_distance(mesh.vertices_mm, mesh.faces, closed=mesh.closed)
    step = max(1, len(mesh.vertices_mm) // MESH_SAMPLES)
    return Behind(
        hazard,
        limit,
        floor,
        _less(ready.distance_mm, hazard),
        frozen(mesh.vertices_mm[::step]),
        at_least_mm=_less(ready.at_least_mm, hazard),
        deepest_mm=0.5 * float(np.ptp(mesh.vertices_mm, axis=0).min()) if mesh.closed else 0.0,
        signed=mesh.closed,
        turned=mesh.turned,
    )


def _within_port(port: LoftedPort, hazard: Hazard, gathered: Gathered) -> bool:
    """Return whether all readings lie along the port's path, after taking down those that do not."""
    first, last = (float(port.chart.distance_mm[k]) for k in (0, -1))
    sound = True
    for k, reading in enumerate(hazard.readings, 1):
        if not first <= reading.distance_mm <= last:
            Spot(gathered, hazard.file or "job.toml", None, "distance").fault(
                f"reading {k} of {shown(hazard.name)} is at {mm(reading.distance_mm, None)}, outside port "
                f"{shown(port.port.name)}",
                f"the port runs from {mm(first, None)} to {mm(last, None)} along its path",
            )
            sound = False
    return sound
