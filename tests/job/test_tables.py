"""A section table becomes outlines in their place, measured in closed form."""

from __future__ import annotations

from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.faults import Gathered, Spot, line
from portgeom.job.files import Folder
from portgeom.job.tables import read_sections
from portgeom.job.values import SectionTable, Units


def read(
    folder: Path, text: str, *, units: Units = "mm", lays_path: bool = True
) -> tuple[SectionTable | None, Gathered]:
    gathered = Gathered()
    (folder / "t.csv").write_text(text, encoding="utf-8")
    named_at = Spot(gathered, "job.toml", 1, "sections")
    table = read_sections("t.csv", named_at, folder=Folder(folder), units=units, lays_path=lays_path)
    return table, gathered


def sound(folder: Path, text: str, *, units: Units = "mm", lays_path: bool = True) -> SectionTable:
    table, gathered = read(folder, text, units=units, lays_path=lays_path)
    assert table is not None, [line(f) for f in gathered.faults]
    return table


HEADER = "distance,shape,width,height,radius,radius_top,radius_bottom,radius_tl,radius_tr,radius_br,radius_bl\n"
CORNER = 1.0 - pi / 4.0  # area that a radius of 1 takes off a sharp corner


@pytest.mark.parametrize(
    ("cells", "area"),
    [
        ("circle,46,", pi * 23.0**2),
        ("circle,,46", pi * 23.0**2),
        ("circle,46,46.0", pi * 23.0**2),
        ("Circle,46,", pi * 23.0**2),
        ("ellipse,40,50", pi * 20.0 * 25.0),
        ("obround,50,40", 40.0 * 10.0 + pi * 20.0**2),
        ("rectangle,40,50", 40.0 * 50.0),
        ("rectangle,40,50,0", 40.0 * 50.0),
        ("rectangle,40,50,9.5", 40.0 * 50.0 - 4.0 * CORNER * 9.5**2),
        ("rectangle,40,50,,11,10", 40.0 * 50.0 - 2.0 * CORNER * (11.0**2 + 10.0**2)),
        ("rectangle,40,50,,,,1,2,3,4", 40.0 * 50.0 - CORNER * (1.0 + 4.0 + 9.0 + 16.0)),
        ("rectangle,40,50,,5,,,,3,4", 40.0 * 50.0 - CORNER * (25.0 + 25.0 + 9.0 + 16.0)),
    ],
)
def test_a_shape_has_its_closed_form_area(tmp_path: Path, cells: str, area: float) -> None:
    table = sound(tmp_path, f"{HEADER}0,{cells}\n10,{cells}\n")
    assert table.rows[0].outline.area_mm2 == pytest.approx(area, rel=1e-12)


def test_corner_columns_go_to_their_corners(tmp_path: Path) -> None:
    table = sound(tmp_path, f"{HEADER}0,rectangle,40,40,,,,0,20,20,20\n10,circle,40\n")
    points = table.rows[0].outline.points_mm
    assert np.isclose(points, [-20.0, 20.0]).all(axis=1).any()  # only the top left corner is sharp
    reach = np.hypot(*points.T)
    assert np.count_nonzero(reach > 20.0 * (1.0 + 1e-9)) == 1
    assert reach.max() == pytest.approx(20.0 * sqrt(2.0))


def test_inches_become_millimetres_but_degrees_stay(tmp_path: Path) -> None:
    text = "distance,pitch,shape,width,across,up\n0,3,circle,2,0.5,-0.25\n1,6,circle,2,0.5,-0.25\n"
    row = sound(tmp_path, text, units="in").rows[1]
    assert row.distance_mm == 25.4
    assert row.pitch_deg == 6.0
    assert row.outline.area_mm2 == pytest.approx(pi * 25.4**2, rel=1e-12)
    assert row.outline.centroid_mm == pytest.approx([0.5 * 25.4, -0.25 * 25.4])


def test_a_cell_left_out_stays_none(tmp_path: Path) -> None:
    row = sound(tmp_path, "distance,shape,width\n0,circle,40\n10,circle,40\n").rows[0]
    assert (row.pitch_deg, row.yaw_deg, row.roll_deg, row.place_mm) == (None, None, None, None)
    assert (row.station, row.place, row.row) == ("1", "", 2)


def test_a_later_table_may_leave_single_angles_out_and_begin_further_in(tmp_path: Path) -> None:
    text = "distance,pitch,shape,width\n5,3,circle,40\n10,,circle,40\n"
    rows = sound(tmp_path, text, lays_path=False).rows
    assert [r.pitch_deg for r in rows] == [3.0, None]
    assert read(tmp_path, text)[0] is None


def test_places_may_stand_for_distances(tmp_path: Path) -> None:
    rows = sound(tmp_path, "x,y,z,shape,width\n1,2,3,circle,40\n1,12,3,circle,40\n").rows
    assert [r.distance_mm for r in rows] == [None, None]
    places = [r.place_mm for r in rows]
    assert np.array_equal(np.array(places), [[1, 2, 3], [1, 12, 3]])


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("x,y,z,shape,width\n1,2,3,circle,40\n1,12,,circle,40\n", [(3, "z")]),
        ("distance,x,y,z,shape,width\n0,1,2,3,circle,40\n9,,,,circle,40\n", [(3, "x"), (3, "y"), (3, "z")]),
        ("distance,x,y,z,shape,width\n0,1,2,3,circle,40\n,1,12,3,circle,40\n", [(3, "distance")]),
        ("distance,x,shape,width\n0,1,circle,40\n9,2,circle,40\n", [(2, "y"), (2, "z"), (3, "y"), (3, "z")]),
    ],
)
def test_places_and_distances_are_given_for_all_stations_or_none(
    tmp_path: Path, text: str, at: list[tuple[int, str]]
) -> None:
    table, gathered = read(tmp_path, text)
    assert table is None
    assert [(f.row, f.field) for f in gathered.faults] == at


def test_sharp_corners_by_leaving_out_are_told_once(tmp_path: Path) -> None:
    table, gathered = read(tmp_path, f"{HEADER}0,rectangle,40,50\n9,rectangle,40,50\n18,rectangle,40,50,5\n")
    assert table is not None
    assert [(n.row, n.field, n.found) for n in gathered.notes] == [
        (2, "radius", "no corner radius for 2 sections, the first here: taken as sharp corners")
    ]


def test_as_many_stations_as_a_table_may_have_are_read_and_one_more_is_refused(tmp_path: Path) -> None:
    rows = [f"{i},circle,40\n" for i in range(501)]
    assert len(sound(tmp_path, "distance,shape,width\n" + "".join(rows[:500])).rows) == 500
    table, gathered = read(tmp_path, "distance,shape,width\n" + "".join(rows))
    assert table is None
    assert [(f.row, f.mend) for f in gathered.faults] == [(502, "give at most 500")]


def test_every_fault_of_a_table_is_told_at_once(tmp_path: Path) -> None:
    text = "distance,pitch,shape,width,height,radius\n0,x,circle,40,,3\n9,1,square,40,,\n8,,ellipse,-1,,\n"
    table, gathered = read(tmp_path, text)
    assert table is None
    assert {(f.row, f.field) for f in gathered.faults} == {
        (2, "pitch"),
        (2, "radius"),
        (3, "shape"),
        (4, "pitch"),
        (4, "width"),
        (4, "height"),
        (4, "distance"),
    }


@pytest.mark.parametrize(
    ("wrong", "meant", "shape"),
    [
        ("widht", "width", "rectangle"),
        ("shpae", "shape", "rectangle"),
        ("distence", "distance", "rectangle"),
        ("radius_tpo", "radius_top", "rectangle"),
        ("hieght", "height", "gauged"),
    ],
)
def test_a_misspelt_column_is_told_once_and_not_again_by_every_row(
    wrong: str, meant: str, shape: str, tmp_path: Path
) -> None:
    header = "distance,shape,width,height,radius_top,radius_bottom,width_low,width_high,height_left,height_right"
    row = f"{shape},40,30,5,5" + (",39,39,29,29" if shape == "gauged" else ",,,,")
    text = "\n".join([header.replace(meant, wrong, 1), f"0,{row}", f"10,{row}", f"20,{row}", ""])
    table, gathered = read(tmp_path, text)
    assert table is None
    assert [line(f) for f in gathered.faults] == [
        f't.csv: row 1: {wrong}: is not a column of this table; the nearest known column is "{meant}"'
    ]


def test_beside_a_misspelt_column_all_else_is_still_told(tmp_path: Path) -> None:
    _, gathered = read(tmp_path, "distance,shape,widht,height\n0,rectangle,40,-3\n10,rectangle,40,30\n")
    assert [(f.row, f.field) for f in gathered.faults] == [(1, "widht"), (2, "height")]


def test_a_column_that_is_there_besides_a_misspelt_one_is_still_read(tmp_path: Path) -> None:
    _, gathered = read(tmp_path, "distance,shape,width,widht\n0,circle,40,1\n10,circle,,1\n")
    assert [(f.row, f.field) for f in gathered.faults] == [(1, "widht"), (3, "width")]


def test_an_empty_table_is_told_what_columns_there_are(tmp_path: Path) -> None:
    _, gathered = read(tmp_path, "\n")
    assert gathered.faults[0].mend.startswith(
        "begin with a row of column names, shape among them; known are station, distance, pitch"
    )


def test_the_least_size_is_told_in_digits_a_person_writes(tmp_path: Path) -> None:
    _, gathered = read(tmp_path, "distance,shape,width\n0,circle,-1\n10,circle,1\n", units="in")
    # a micrometre is 0.001 / 25.4 in
    assert [f.mend for f in gathered.faults] == [f"give a number of at least {0.001 / 25.4:.6f} and at most 393.701 in"]
