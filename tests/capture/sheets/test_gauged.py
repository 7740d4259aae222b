"""A port gauged through the measuring sheet comes back: every plane's place and tilt, every section's area.

The ports here are made of points in the head; what a person would read off them is measured from those points, by
the words on the sheet, with shapely cutting the sections. None of the code under test has a part in it.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from math import pi
from pathlib import Path

import numpy as np
import pytest
import shapely

from portgeom.capture.sheets.gauged import moved_percent, placed_sections, plane_angles
from portgeom.capture.sheets.gauged_values import FaceSection, Placed
from portgeom.capture.sheets.job import SheetJob, job_of_sheet
from portgeom.capture.sheets.readings import BOWL, COLUMNS
from portgeom.capture.sheets.table import read_sheet_table
from portgeom.geometry.arrays import F64
from portgeom.geometry.path import Path as PortPath
from portgeom.geometry.path import direction
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Units
from portgeom.model.lofted import loft_job
from portgeom.output.files.whole_folder import write_folder


@dataclass(frozen=True, slots=True)
class Slice:
    """A true section: its plane (origin, right and up, in the head) and its outline in it."""

    origin: F64
    right: F64
    up: F64
    polygon: shapely.Polygon

    @property
    def normal(self) -> F64:
        return np.cross(self.up, self.right)

    def centroid(self) -> F64:
        at = self.polygon.centroid
        return self.origin + at.x * self.right + at.y * self.up


@dataclass(frozen=True, slots=True)
class Head:
    """A head by points: the face's foot and a point up it, two points of the arbor, the short side's centre."""

    face_foot: F64
    face_top: F64
    arbor_in: F64
    arbor_out: F64
    seat_z: float
    floor_z: float
    roof_z: float
    fan_depth: float
    fan_below: float
    short_radius: float

    @property
    def face_up(self) -> F64:
        way = self.face_top - self.face_foot
        return way / np.linalg.norm(way)

    @property
    def into(self) -> F64:
        return np.cross(self.face_up, [1.0, 0.0, 0.0])

    @property
    def arbor(self) -> F64:
        way = self.arbor_out - self.arbor_in
        return way / np.linalg.norm(way)

    def on_arbor(self, z: float) -> F64:
        return self.arbor_in + self.arbor * ((z - self.arbor_in[2]) / self.arbor[2])

    @property
    def floor(self) -> F64:
        """Return the floor at the face, on the arbor's line along the port."""
        up = self.face_up
        on_face = self.face_foot + up * ((self.floor_z - self.face_foot[2]) / up[2])
        return np.array([self.on_arbor(0.0)[0], on_face[1], on_face[2]])

    @property
    def fan(self) -> F64:
        return self.floor + self.fan_depth * self.into - self.fan_below * self.face_up

    def readings(self) -> dict[str, float]:
        """Return the set-up readings, measured from the points by the words on the sheet."""
        up, out, at = self.face_up, self.arbor, self.on_arbor(0.0)
        on_deck = self.face_foot[1] - up[1] / up[2] * self.face_foot[2]
        return {
            "face_to_deck": np.degrees(np.arctan2(up[2], up[1])),
            "arbor_away": np.degrees(np.arctan2(-out[2], out[1])),
            "arbor_right": np.degrees(np.arctan2(-out[2], out[0])),
            "face_to_arbor": at[1] - on_deck,
            "seat_below_deck": self.seat_z,
            "floor_above_deck": self.floor_z,
            "roof_above_deck": self.roof_z,
            "short_radius": self.short_radius,
            "crest_depth": self.fan_depth,
            "crest_height": self.short_radius - self.fan_below,
            "arbor_along_head": at[0],
        }


LEANING = Head(
    face_foot=np.array([0.0, 0.0, 0.0]),
    face_top=np.array([0.0, 6.0, 60.0]),  # looks up by 5.7 degrees
    arbor_in=np.array([29.0, 72.0, 60.0]),
    arbor_out=np.array([31.5, 84.0, -10.0]),  # leans away from the face and to the right
    seat_z=6.0,
    floor_z=34.0,
    roof_z=np.nan,
    fan_depth=44.0,
    fan_below=9.0,
    short_radius=12.0,
)
SQUARE = Head(
    face_foot=np.zeros(3),
    face_top=np.array([0.0, 0.0, 50.0]),
    arbor_in=np.array([0.0, 83.0, 60.0]),
    arbor_out=np.array([0.0, 83.0, 0.0]),
    seat_z=8.0,
    floor_z=40.0,
    roof_z=86.0,
    fan_depth=40.0,
    fan_below=20.0,
    short_radius=20.0,
)


def rounded(low: float, high: float, height: float, radius: float, across: float, floor: float) -> shapely.Polygon:
    """Return a trapezoid with rounded corners: widths at floor and roof, its middle across, its floor."""
    corners = [(low / 2, 0.0), (high / 2, height), (-high / 2, height), (-low / 2, 0.0)]
    shape = shapely.Polygon(corners).buffer(-radius).buffer(radius, quad_segs=256)
    return shapely.affinity.translate(shape, across, floor)


def across_of(polygon: shapely.Polygon, start: tuple[float, float], end: tuple[float, float]) -> tuple[F64, F64]:
    """Return the two ends of a cut, from left or below."""
    line = np.array(polygon.intersection(shapely.LineString([start, end])).coords)
    order = np.lexsort((line[:, 1], line[:, 0]))
    return line[order[0]], line[order[-1]]


def gauge(polygon: shapely.Polygon, radius: float, middle: float) -> dict[str, float]:
    """Return widths, heights, corner radii, floor and side position of a section, seen looking in.

    ``middle`` is where its middle height is taken.
    """
    low, high = across_of(polygon, (middle, -99.0), (middle, 199.0))
    height = float(high[1] - low[1])
    out = {f"radius_{corner}": radius for corner in ("tl", "tr", "br", "bl")}
    out |= {"height": height, "floor": float(low[1])}
    for name, part in (("width_low", 0.25), ("width", 0.5), ("width_high", 0.75)):
        v = float(low[1]) + part * height
        left, right = across_of(polygon, (-199.0, v), (199.0, v))
        out[name] = float(right[0] - left[0])
        if name == "width":
            out["side"] = -float(left[0])
            start = float(left[0])
    for name, part in (("height_left", 0.25), ("height_right", 0.75)):
        u = start + part * out["width"]
        below, above = across_of(polygon, (u, -99.0), (u, 199.0))
        out[name] = float(above[1] - below[1])
    return out


def face_slice(head: Head, depth: float, polygon: shapely.Polygon) -> Slice:
    return Slice(head.floor + depth * head.into, np.array([1.0, 0.0, 0.0]), head.face_up, polygon)


def fan_slice(head: Head, angle_deg: float, polygon: shapely.Polygon) -> Slice:
    axis = np.cross(head.arbor, head.into)
    axis /= np.linalg.norm(axis)
    a = np.radians(angle_deg)
    start = np.cross(axis, head.into)  # up from the centre, where the plane is parallel to the face
    up = np.cos(a) * start + np.sin(a) * np.cross(start, axis)
    return Slice(head.fan, axis, up, polygon)


def bowl_slice(head: Head, over_seat: float, polygon: shapely.Polygon) -> Slice:
    away = np.array([0.0, 1.0, 0.0]) - head.arbor[1] * head.arbor
    away /= np.linalg.norm(away)
    return Slice(head.on_arbor(head.seat_z) - over_seat * head.arbor, np.cross(head.arbor, away), away, polygon)


def leaning_port() -> tuple[Head, list[tuple[str, float, dict[str, float], Slice]]]:
    """Return a port of every awkwardness: leaning face, arbor tilted both ways, walls that lean, sections that
    drift and are not square to the flow, a bowl off its arbor."""
    rows = []
    roof = 0.0
    for depth in (0.0, 14.0, 28.0, 42.0):
        part = depth / 42.0
        low, high, tall = 34.0 + 2.0 * part, 38.0 + part, 45.0 - 2.0 * part
        across, floor = 3.0 - 2.5 * part, 3.0 * part**2
        polygon = rounded(low, high, tall, 9.0 + 3.0 * part, across, floor)
        rows.append(("face", depth, gauge(polygon, 9.0 + 3.0 * part, across), face_slice(LEANING, depth, polygon)))
        roof = roof or LEANING.floor_z + tall * LEANING.face_up[2]
    for angle in (18.0, 36.0, 54.0):
        part = angle / 80.0
        wide, tall, radius = 37.5 + 5.0 * part, 43.0 - 2.0 * part, 13.0 + 6.0 * part
        standing = LEANING.short_radius + 0.4 * part
        polygon = rounded(wide, wide, tall, radius, 0.5 - 0.6 * part, standing)
        readings = {f"radius_{c}": radius for c in ("tl", "tr", "br", "bl")}
        readings |= {"height": tall, "width": wide, "floor": 0.4 * part, "side": 0.5 * wide - 0.5 + 0.6 * part}
        rows.append(("turn", angle, readings, fan_slice(LEANING, angle, polygon)))
    for over, radius in ((16.0, 22.6), (8.0, 22.0), (0.0, 21.0)):
        polygon = shapely.Point(0.4, 0.08 * over).buffer(radius, quad_segs=256)
        rows.append(("bowl", over, pointed(polygon), bowl_slice(LEANING, over, polygon)))
    head = Head(**{name: getattr(LEANING, name) for name in Head.__slots__} | {"roof_z": roof})
    return head, rows


def pointed(polygon: shapely.Polygon) -> dict[str, float]:
    """Return the pointer's eight readings: from away from the face (up) round by the right."""
    out = {}
    for k, reading in enumerate(BOWL):
        a = 0.25 * pi * k
        ray = shapely.LineString([(0.0, 0.0), (99.0 * np.sin(a), 99.0 * np.cos(a))])
        out[reading.key] = float(polygon.intersection(ray).length)
    return out


def table_text(head: Head, rows: list[tuple[str, float, dict[str, float], Slice]], units: Units) -> str:
    """Return the filled table as a spreadsheet saves it."""
    per = 25.4 if units == "in" else 1.0
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerow({"section": "units", "value": units})
    for key, value in head.readings().items():
        degrees = key in ("face_to_deck", "arbor_away", "arbor_right")
        writer.writerow({"section": key, "value": value if degrees else value / per})
    for kind, at, readings, _ in rows:
        cells = {key: value / per for key, value in readings.items()}
        writer.writerow({"section": kind, "at": at if kind == "turn" else at / per} | cells)
    return out.getvalue()


def made(folder: Path, head: Head, rows: list[tuple[str, float, dict[str, float], Slice]], units: Units) -> SheetJob:
    path = folder / "filled.csv"
    path.write_text(table_text(head, rows, units), encoding="utf-8", newline="")
    return job_of_sheet(read_sheet_table(path), title="Gauged", material="grey iron", port="2", kind="intake")


def assert_same(placed: Placed, true: Slice, area_mm2: float, centroid_mm: F64) -> None:
    assert area_mm2 == pytest.approx(true.polygon.area, rel=5e-3)
    assert np.linalg.norm(centroid_mm - true.centroid()) < 0.3
    assert placed.normal == pytest.approx(true.normal, abs=1e-9)
    assert placed.right == pytest.approx(true.right, abs=1e-9)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_section_comes_back_with_area_place_and_tilt(tmp_path: Path, units: Units) -> None:
    head, rows = leaning_port()
    job = made(tmp_path, head, rows, units)
    assert [n.found for n in job.notes] == []
    for placed, (_, _, _, true) in zip(job.placed, rows, strict=True):
        assert_same(placed, true, placed.outline.area_mm2, placed.centroid_mm())


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_job_read_back_and_lofted_has_the_same_sections(tmp_path: Path, units: Units) -> None:
    head, rows = leaning_port()
    write_folder(tmp_path / "job", made(tmp_path, head, rows, units).texts)
    port = loft_job(read_job(tmp_path / "job"))[0]
    cast = port.cast
    planes = port.chart.path.planes(cast.distance_mm)
    measured = cast.stage.sections.rows
    for k, (row, (_, _, _, true)) in enumerate(zip(measured, rows, strict=True)):
        u, v = row.outline.centroid_mm
        centroid = planes.origin_mm[k] + u * planes.right[k] + v * planes.up[k]
        assert row.outline.area_mm2 == pytest.approx(true.polygon.area, rel=5e-3)
        assert np.linalg.norm(centroid - true.centroid()) < 0.3
        assert float(planes.normal[k] @ true.normal) == pytest.approx(1.0, abs=1e-9)


def tube() -> list[tuple[str, float, dict[str, float], Slice]]:
    """Return a round tube of 46: 40 in, a quarter turn about a 20 mm short side, 12 down to the seat."""
    disc = shapely.Point(0.0, 23.0).buffer(23.0, quad_segs=256)
    rows = [("face", s, gauge(disc, 23.0, 0.0), face_slice(SQUARE, s, disc)) for s in (0.0, 20.0, 40.0)]
    corners = {f"radius_{c}": 23.0 for c in ("tl", "tr", "br", "bl")}
    for angle in (15.0, 30.0, 45.0, 60.0, 75.0):
        raised = shapely.affinity.translate(disc, 0.0, 20.0)
        rows.append(("turn", angle, {"height": 46.0, "width": 46.0, **corners}, fan_slice(SQUARE, angle, raised)))
    circle = shapely.Point(0.0, 0.0).buffer(23.0, quad_segs=256)
    rows += [("bowl", over, pointed(circle), bowl_slice(SQUARE, over, circle)) for over in (12.0, 6.0, 0.0)]
    return rows


def test_a_bent_tube_gauged_through_the_sheet_holds_what_pappus_says(tmp_path: Path) -> None:
    job = made(tmp_path, SQUARE, tube(), "mm")
    write_folder(tmp_path / "job", job.texts)
    port = loft_job(read_job(tmp_path / "job"))[0]
    length = 40.0 + (20.0 + 23.0) * 0.5 * pi + 12.0
    assert port.chart.path.length_mm == pytest.approx(length, rel=1e-3)
    assert float(np.sum(port.cast.surface.volume_mm3)) == pytest.approx(pi * 23.0**2 * length, rel=2e-3)


def test_what_was_not_gauged_of_a_turn_is_carried_over_and_told(tmp_path: Path) -> None:
    rows = [(k, at, {key: v for key, v in r.items() if k != "turn" or key in ("height", "width")}, s)
            for k, at, r, s in tube()]  # fmt: skip
    job = made(tmp_path, SQUARE, rows, "mm")
    assert {n.row for n in job.notes} == {17, 18, 19, 20, 21}
    assert "turn 1: corner radii and side position not gauged" in job.notes[0].found
    for placed, (_, _, _, true) in zip(job.placed, rows, strict=True):
        assert_same(placed, true, placed.outline.area_mm2, placed.centroid_mm())


def test_three_degrees_move_the_area_by_its_slope_over_the_turn(tmp_path: Path) -> None:
    head, rows = leaning_port()
    placed = made(tmp_path, head, rows, "mm").placed
    moved = moved_percent(placed)
    assert sorted(moved) == [4, 5, 6]
    slope = (placed[5].outline.area_mm2 - placed[6].outline.area_mm2) / 18.0
    assert moved[5] >= 100.0 * 3.0 * abs(slope) / placed[5].outline.area_mm2 - 1e-9
    assert moved_percent(placed, held_deg=6.0)[5] == pytest.approx(2.0 * moved[5])
    assert 0.05 < moved[5] < 10.0


def test_equal_sections_are_not_moved_by_how_they_are_held(tmp_path: Path) -> None:
    placed = made(tmp_path, SQUARE, tube(), "mm").placed
    assert max(moved_percent(placed).values()) < 0.1


@pytest.mark.parametrize("seed", range(6))
def test_angles_of_a_plane_give_the_plane_back(seed: int) -> None:
    rng = np.random.default_rng(seed)
    normal = rng.normal(size=3)
    normal /= np.linalg.norm(normal)
    right = np.cross(normal, rng.normal(size=3))
    right /= np.linalg.norm(right)
    pitch, yaw, roll = plane_angles(right, normal)
    assert direction(pitch, yaw) == pytest.approx(normal)
    path = PortPath.from_angles([0.0, 1.0], [pitch, pitch], [yaw, yaw], [roll, roll])
    assert path.right[0] == pytest.approx(right)


def test_an_arbor_square_to_the_deck_gives_a_pitch_of_90() -> None:
    assert plane_angles(np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0])) == (90.0, 0.0, 0.0)


def changed(rows: list[tuple[str, float, dict[str, float], Slice]], i: int, **cells: float) -> None:
    kind, at, readings, true = rows[i]
    rows[i] = (kind, cells.pop("at", at), readings | cells, true)


@pytest.mark.parametrize(
    ("spoil", "row", "field", "found"),
    [
        (lambda r: changed(r, 0, at=2.0), 14, "at", "is not on the manifold face"),
        (lambda r: changed(r, 1, at=40.0), 16, "at", "does not lie beyond the one before"),
        (lambda r: changed(r, 2, at=41.0), 16, "at", "lies beyond the crest of the short side, 40 mm in"),
        (lambda r: changed(r, 7, at=95.0), 21, "at", "is at 95 degrees where the port turns by 90.0"),
        (lambda r: changed(r, 8, at=13.0), 22, "at", "lies above the end of the turn, 12.0 mm above the seat"),
        (lambda r: r.insert(0, r.pop(4)), 15, "at", "is a face section after a turn section"),
        (lambda r: changed(r, 1, radius_tl=30.0), 15, "section", "are longer than the"),
        (lambda r: changed(r, 4, radius_tl=30.0), 18, "section", "are longer than the"),
    ],
)
def test_sections_out_of_order_or_of_no_outline_are_told_at_their_row(
    tmp_path: Path, spoil: object, row: int, field: str, found: str
) -> None:
    rows = tube()
    assert callable(spoil)
    spoil(rows)
    with pytest.raises(JobError, match=found) as caught:
        made(tmp_path, SQUARE, rows, "mm")
    assert (row, field) in {(f.row, f.field) for f in caught.value.faults}


def test_a_port_without_a_turn_needs_no_short_side(tmp_path: Path) -> None:
    rows = [r for r in tube() if r[0] == "face"]
    path = tmp_path / "t.csv"
    kept = [line for line in table_text(SQUARE, rows, "mm").splitlines() if not line.startswith(("crest", "short"))]
    path.write_text("\n".join(kept), encoding="utf-8")
    table = read_sheet_table(path)
    placed = placed_sections(table.set_up, table.sections)
    assert all(isinstance(p.section, FaceSection) for p in placed)
    assert placed[2].place_mm == pytest.approx([0.0, 40.0, 63.0])


def test_set_up_readings_that_do_not_belong_together_are_told(tmp_path: Path) -> None:
    told = "do not belong to one port"
    assert not [n for n in made(tmp_path, SQUARE, tube(), "mm").notes if told in n.found]
    head, rows = leaning_port()
    assert not [n for n in made(tmp_path, head, rows, "mm").notes if told in n.found]
    near = replace(SQUARE, arbor_in=SQUARE.arbor_in - [0.0, 25.0, 0.0], arbor_out=SQUARE.arbor_out - [0.0, 25.0, 0.0])
    (note,) = [n for n in made(tmp_path, near, tube(), "mm").notes if told in n.found]
    assert note.found.startswith("bowl 1 lies ")
    assert note.mend.startswith("read the set-up again: face to arbor")
