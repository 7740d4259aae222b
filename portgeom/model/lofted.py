"""What surfaces does a job's port have? Builds the path, the chart and one surface a measured stage."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.chart import Chart, Resolution, lay_chart
from portgeom.geometry.findings import Finding, GeometryError
from portgeom.geometry.path import Path, direction
from portgeom.geometry.surface import Surface, crossings, knot_slabs, loft
from portgeom.geometry.told_lengths import mm
from portgeom.job.faults import JobError
from portgeom.job.values import Job, Note, Port, SectionTable, Stage, StationRow, Target
from portgeom.model.directions import directions_along
from portgeom.model.edge import Edge, section_edges

PLANE_AGREES_DEG = 0.1
"""How far a later table's plane may differ from the port's own before it counts as another plane."""


@dataclass(frozen=True, slots=True)
class LoftedStage:
    """One measured stage: its table, its surface, and the distances (k,) and slabs (k,) of its stations."""

    stage: Stage
    distance_mm: F64
    slab: Int
    surface: Surface

    def measured(self) -> dict[int, F64]:
        """Return the measured outlines (n, 2) by the slab they were measured at."""
        rows = self.stage.sections.rows
        return {int(j): r.outline.points_mm for r, j in zip(rows, self.slab, strict=True)}

    def edges(self) -> tuple[Edge, ...]:
        """Return the upper boundary of the section at every slab: at a station the outline's own."""
        return section_edges(list(self.surface.points_mm), self.measured())


@dataclass(frozen=True, slots=True)
class LoftedPort:
    """A port with every stage lofted on one chart.

    Attributes
    ----------
    port : Port
    stages : tuple of LoftedStage
        In the order measured; the first is the port as cast.
    pattern : LoftedStage or None
        The target's own sections, lofted on the same chart, where it is given by sections.
    """

    port: Port
    chart: Chart
    stages: tuple[LoftedStage, ...]
    pattern: LoftedStage | None

    @property
    def cast(self) -> LoftedStage:
        """Return the stage measured first."""
        return self.stages[0]

    @property
    def throat_mm(self) -> float:
        """Return the distance of the throat: the job's, or the last station."""
        given = self.port.throat_mm
        return float(self.chart.path.distance_mm[-1]) if given is None else given

    def stage(self, name: str | None) -> LoftedStage:
        """Return a stage by name, or the latest."""
        if name is None:
            return self.stages[-1]
        return next(s for s in self.stages if s.stage.name == name)


def loft_job(job: Job, *, resolution: Resolution = Resolution()) -> tuple[LoftedPort, ...]:  # noqa: B008
    """Return every port of a job, lofted.

    Raises
    ------
    JobError
        With every fault of every port: planes that cross, sections that miss the path, tables that
        disagree about a plane.
    """
    faults: list[Note] = []
    ports: list[LoftedPort] = []
    targets = {t.name: t for t in job.targets}
    for port in job.ports:
        builder = _Builder(port, targets.get(port.target or ""), resolution)
        lofted = builder.build()
        faults += builder.faults
        if lofted is not None:
            ports.append(lofted)
    if faults:
        raise JobError(tuple(faults))
    return tuple(ports)


@dataclass(frozen=True, slots=True)
class PathReadings:
    """What a table says of a path, with a leading axis where there are many: one value a station.

    Attributes
    ----------
    distance_mm : (..., n) float or None
        None where places give it.
    pitch_deg, yaw_deg, roll_deg : (..., n) float
    places_mm : (..., n, 3) float or None
    """

    distance_mm: F64 | None
    pitch_deg: F64
    yaw_deg: F64
    roll_deg: F64
    places_mm: F64 | None

    def path(self, start_mm: F64 | None) -> Path:
        """Return the path; ``start_mm`` is where it begins if no places are given.

        Raises
        ------
        GeometryError
            Naming the stations that make no path.
        """
        angles = self.pitch_deg, self.yaw_deg, self.roll_deg
        if self.places_mm is not None:
            return Path.through_places(self.places_mm, *angles, distance_mm=self.distance_mm)
        assert self.distance_mm is not None
        return Path.from_angles(self.distance_mm, *angles, start_mm=np.zeros(3) if start_mm is None else start_mm)


def path_readings(table: SectionTable) -> PathReadings:
    """Return what a table says of the path through its stations.

    Raises
    ------
    GeometryError
        Where an angle is left out at some stations and given at others.
    """
    rows = table.rows
    places = [r.place_mm for r in rows if r.place_mm is not None]
    given = [r.distance_mm for r in rows if r.distance_mm is not None]
    distance = np.array(given) if len(given) == len(rows) else None
    roll = _angles(rows, "roll_deg")
    pitch, yaw = _angles(rows, "pitch_deg"), _angles(rows, "yaw_deg")
    if len(places) < len(rows):
        return PathReadings(distance, pitch, yaw, roll, None)
    line = np.array(places)
    if all(r.pitch_deg is None and r.yaw_deg is None for r in rows):
        own = directions_along(line)
        pitch, yaw, roll = own.pitch_deg, own.yaw_deg, roll + own.roll_deg
    return PathReadings(distance, pitch, yaw, roll, line)


def path_of(table: SectionTable, start_mm: F64 | None) -> Path:
    """Return the path that a table of stations describes.

    Raises
    ------
    GeometryError
        Naming the stations that make no path.
    """
    return path_readings(table).path(start_mm)


def _angles(rows: Sequence[StationRow], name: str) -> F64:
    """Return one angle of every row; a column left out is zero, a cell left out is a finding."""
    values = [getattr(r, name) for r in rows]
    if all(v is None for v in values):
        return np.zeros(len(rows))
    blank = [i for i, v in enumerate(values) if v is None]
    if blank:
        column = name.removesuffix("_deg")
        raise GeometryError(
            Finding(i, column, "is left blank where other stations have it", "write 0 if it is straight") for i in blank
        )
    return np.array(values, dtype=np.float64)


class _Builder:
    """Builds one port and gathers what is wrong with it."""

    def __init__(self, port: Port, target: Target | None, resolution: Resolution) -> None:
        self.port, self.target, self.resolution = port, target, resolution
        self.faults: list[Note] = []

    def build(self) -> LoftedPort | None:
        cast = self.port.stages[0]
        try:
            path = path_of(cast.sections, self.port.position_mm)
        except GeometryError as error:
            self._tell(cast.sections, error.findings)
            return None
        tables = [s.sections for s in self.port.stages[1:]]
        pattern = self.target.sections if self.target is not None else None
        later = [*tables, pattern] if pattern is not None else tables
        for table in later:
            self._tell(table, _strays(table, path, covers=table is not pattern))
        if self.faults:
            return None
        distances = [_distances(t, path) for t in later]
        chart = lay_chart(
            path,
            [r.outline for r in cast.sections.rows],
            more_knots_mm=[float(s) for d in distances for s in d],
            resolution=self.resolution,
        )
        stages = [self._loft(chart, s, s.sections, _distances(s.sections, path)) for s in self.port.stages]
        wanted = None
        if pattern is not None:
            named = Stage(self.target.name if self.target else "", pattern)
            wanted = self._loft(chart, named, pattern, _distances(pattern, path))
        if self.faults:
            return None
        built = tuple(s for s in stages if s)
        for surface in (s.surface for s in (*built, *([wanted] if wanted else []))):
            self._tell(cast.sections, crossings(chart, surface.rho_mm))
            if self.faults:  # the same planes would cross in every later surface
                return None
        return LoftedPort(self.port, chart, built, wanted)

    def _loft(self, chart: Chart, stage: Stage, table: SectionTable, distance: F64) -> LoftedStage | None:
        try:
            surface = loft(chart, distance, [r.outline for r in table.rows])
        except GeometryError as error:
            self._tell(table, error.findings)
            return None
        return LoftedStage(stage, distance, knot_slabs(chart, distance), surface)

    def _tell(self, table: SectionTable, findings: Iterable[Finding]) -> None:
        for f in findings:
            row = table.rows[f.station]
            self.faults.append(Note(table.file, row.row, f.field, f"station {row.station} {f.found}", f.mend))


def _distances(table: SectionTable, path: Path) -> F64:
    """Return where a table's stations are on the path; those a hair off a station of it are on it."""
    if any(r.distance_mm is None for r in table.rows):
        return path.distance_mm
    distance = np.array([r.distance_mm for r in table.rows], dtype=np.float64)
    nearest = path.distance_mm[np.argmin(np.abs(distance[:, None] - path.distance_mm), axis=1)]
    same = np.abs(distance - nearest) <= 1e-6 * path.length_mm
    return frozen(np.where(same, nearest, distance))


def _strays(table: SectionTable, path: Path, *, covers: bool) -> list[Finding]:
    """Return where a later table's stations leave the port's path or look another way."""
    findings = []
    first, last = float(path.distance_mm[0]), float(path.distance_mm[-1])
    near = 1e-6 * path.length_mm
    rows = table.rows
    for i, row in enumerate(rows):
        s = row.distance_mm
        if s is None:
            findings.append(Finding(i, "distance", "has no distance", "give its distance along the port's path"))
        elif not first - near <= s <= last + near:
            findings.append(
                Finding(
                    i,
                    "distance",
                    f"is at {mm(s, None)}, off the port's path",
                    f"the first table runs from {mm(first, None)} to {mm(last, None)}; measure within it",
                )
            )
        else:
            findings += _other_plane(i, row, path)
    ends = rows[0].distance_mm, rows[-1].distance_mm
    if covers and None not in ends and not findings:
        for i, (end, wanted) in enumerate(zip(ends, (first, last), strict=True)):
            if end is not None and abs(end - wanted) > near:
                findings.append(
                    Finding(
                        i * (len(rows) - 1),
                        "distance",
                        f"ends the table at {mm(end, None)}",
                        f"a stage runs the whole path: measure a station at {mm(wanted, None)} too",
                    )
                )
    return findings


def _other_plane(i: int, row: StationRow, path: Path) -> list[Finding]:
    """Return the angles in which a later station's plane differs from the port's plane there."""
    plane = path.planes(np.array([row.distance_mm], dtype=np.float64))
    if row.pitch_deg is None and row.yaw_deg is None:
        return []
    given = direction(row.pitch_deg or 0.0, row.yaw_deg or 0.0)
    lean = float(np.degrees(np.arccos(np.clip(given @ plane.normal[0], -1.0, 1.0))))
    if lean <= PLANE_AGREES_DEG:
        return []
    return [
        Finding(
            i,
            "pitch",
            f"looks {lean:.1f} degrees away from the port's own plane at {mm(float(plane.distance_mm[0]), None)}",
            "all tables of a port share the planes of the first; leave pitch and yaw out here",
        )
    ]
