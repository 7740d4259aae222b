"""Every fault is told with its file, row, field and what would be right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from conftest import JobFolder

JOB = "job.toml"


@dataclass(frozen=True, slots=True)
class Spoilt:
    """One edit of the valid job, and the fault that must come of it.

    ``at`` is text that stands on the row to be named, after the edit; None for a fault of a whole file.
    """

    claim: str
    edit: tuple[str, str, str]
    at: str | None
    field: str
    words: str
    file: str = JOB


def job(claim: str, old: str, new: str, at: str | None, field: str, words: str) -> Spoilt:
    return Spoilt(claim, (JOB, old, new), at, field, words)


def table(file: str, claim: str, old: str, new: str, at: str | None, field: str, words: str) -> Spoilt:
    return Spoilt(claim, (file, old, new), at, field, words, file)


GUIDE_1 = "port '1' guide: "

# fmt: off
IN_JOB = [
    # the top of the file
    job("a title left out", 'title = "Two ports"\n', "",
        None, "title", "is missing; give the job's title"),
    job("units left out", 'units = "mm"\n', "",
        None, "units", 'is missing; give "mm" or "in"'),
    job("units unknown", 'units = "mm"', 'units = "inn"',
        "inn", "units", 'nearest known word is "in"'),
    job("units not text", 'units = "mm"', "units = 25.4",
        "25.4", "units", '25.4 is not text; write one of "mm"'),
    job("material unknown", "grey iron", "gray",
        '"gray"', "material", '"gray" is not known; write "grey iron"'),
    job("material of no density", '"grey iron"', "72.0",
        "72.0", "material", "72.0 g/cc is out of range"),
    job("material true", '"grey iron"', "true",
        "= true", "material", "true is no density"),
    job("key unknown", "min_wall = 3.0", "min_wal = 3.0",
        "min_wal", "min_wal", 'nearest known key is "min_wall"'),
    job("text for a number", "min_wall = 3.0", 'min_wall = "3"',
        '"3"', "min_wall", "is text, not a number"),
    job("true for a number", "min_wall = 3.0", "min_wall = true",
        "= true", "min_wall", "true is not a number"),
    job("not a number", "min_wall = 3.0", "min_wall = nan",
        "nan", "min_wall", "nan is not a finite number"),
    job("infinite", "min_wall = 3.0", "min_wall = -inf",
        "-inf", "min_wall", "-inf is not a finite number"),
    job("beyond any float", "min_wall = 3.0", f"min_wall = 1{'0' * 400}",
        "1000", "min_wall", "more than 60 digits"),
    job("negative", "min_wall = 3.0", "min_wall = -3.0",
        "-3.0", "min_wall", "of at least 0 and at most 10000 mm"),
    job("number for a flag", "respect_walls = true", "respect_walls = 1",
        "= 1", "respect_walls", "write true or false"),
    job("limit out of range", "bulge = 0.6", "bulge = 0.0",
        "0.0", "limits: bulge", "0.0 is out of range"),
    job("limit unknown", "bulge = 0.6", "bulges = 0.6",
        "bulges", "limits: bulges", 'nearest known key is "bulge"'),
    job("limits a number", "[limits]\nbulge = 0.6", "limits = 1",
        "limits = 1", "limits", "begin it with [limits]"),
    # ports and stages
    job("port name a number", 'name = "1"', "name = 1",
        "name = 1", "port number 1: name", "1 is not text; put it in quotes"),
    job("port names alike", 'name = "2"', 'name = "1"',
        'name = "1"\nkind = "exhaust"', "port '1': name", '"1" is already the name of port'),
    job("port kind", 'kind = "intake"', 'kind = "inlet"',
        "inlet", "port '1': kind", '"inlet" is not known'),
    job("port kind left out", 'kind = "exhaust"\n', "",
        '[[port]]\nname = "2"', "port '2': kind", 'give "intake" or "exhaust"'),
    job("target unknown", 'target = "lines"', 'target = "line"',
        '"line"', "port '1': target", 'nearest known name is "lines"'),
    job("position of two", "[30.0, 0.0, 60.0]", "[30.0, 60.0]",
        "position = [30.0, 60.0]", "port '1': position", "give [x, y, z]"),
    job("position text", "[30.0, 0.0, 60.0]", '[30.0, "0", 60.0]',
        '"0"', "port '1': position y", '"0" is text'),
    job("position needed", "position = [94.0, 0.0, 60.0]\n", "",
        '[[port]]\nname = "2"', "port '2': position", "where the port's path starts"),
    job("positions alike", "[94.0, 0.0, 60.0]", "[30.0, 0.0, 60.0]",
        "position = [30.0, 0.0, 60.0]\nschedule = [[", "port '2': position", "is also that of port '1'"),
    job("throat too far", "throat = 60.0\n", "throat = 61.0\n",
        "throat = 61", "port '1': throat", "is beyond the last station"),
    job("roof end too far", "roof_end = 55.0", "roof_end = 90.0",
        "90.0", "port '1': roof_end", "within cast-1.csv"),
    job("schedule place unknown", "{ face = 2020.0,", "{ fase = 2020.0,",
        "fase", "port '1': schedule \"fase\"", 'nearest known place is "face"'),
    job("schedule place not in the table", "{ face = 2020.0,", "{ seat = 2020.0,",
        "seat =", "port '1': schedule", "a place that no station has"),
    job("schedule of one place", "{ face = 2020.0, throat", "{ throat",
        "{ throat", "port '1': schedule", "at two places or more"),
    job("schedule falls back", "[60.0, 1660.0]", "[0.0, 1660.0]",
        "[[0.0, 2020", "port '2': schedule row 2", "distance 0 does not rise above 0"),
    job("schedule of no area", "[60.0, 1660.0]", "[60.0, 0.0]",
        "[[0.0, 2020", "port '2': schedule row 2 area", "a number above 0 mm2"),
    job("schedule too far", "[60.0, 1660.0]", "[99.0, 1660.0]",
        "[[0.0, 2020", "port '2': schedule", "runs beyond the last station"),
    job("wall name empty", '"pushrod wall"', '" "',
        'left = " "', "port '1' walls: left", "is empty"),
    job("guide axis a point", "[[30.0, 50.0, 70.0], [30.0, 55.0, 20.0]]", "[30.0, 50.0, 70.0]",
        "axis =", GUIDE_1 + "axis", "is not two points"),
    job("guide axis of no length", "[30.0, 55.0, 20.0]", "[30.0, 50.0, 70.0]",
        "axis =", GUIDE_1 + "axis", "two points are the same"),
    job("guide size left out", "  boss_diameter = 15.0\n", "",
        "[port.guide]", GUIDE_1 + "boss_diameter", "diameter of the boss"),
    job("stage names alike", '"roughed"\n  sections', '"As Cast"\n  sections',
        '"As Cast"', "port '1' stage 'As Cast': name", "already the name of port '1' stage 'as cast'"),
    job("poured nothing", "poured_cc = 95.0", "poured_cc = 0",
        "poured_cc", "port '1' stage 'as cast': poured_cc", "0 is out of range"),
    job("sections left out", '  sections = "cast-2.csv"\n', "",
        '[[port.stage]]\n  name = "as cast"\n\n', "port '2' stage 'as cast': sections",
        "the file of its section table"),
    # files
    job("file missing", '"cast-2.csv"', '"cast-3.csv"',
        "cast-3", "port '2' stage 'as cast': sections", "is not in the job folder"),
    job("file a folder", '"cast-2.csv"', '"traces"',
        '"traces"', "port '2' stage 'as cast': sections", "is a folder; name a file"),
    job("file above", '"cast-2.csv"', '"../cast-2.csv"',
        "../", "port '2' stage 'as cast': sections", "leads out of the job folder"),
    job("file absolute", '"cast-2.csv"', '"/etc/passwd"',
        "passwd", "port '2' stage 'as cast': sections", "is an absolute path"),
    job("file on a drive", '"cast-2.csv"', '"C:cast-2.csv"',
        "C:cast", "port '2' stage 'as cast': sections", "drive letter"),
    job("file a device", '"cast-2.csv"', '"NUL.csv"',
        "NUL", "port '2' stage 'as cast': sections", "name of a device"),
    # targets
    job("roof falls back", "[60.0, 24.0]]\nroof_straight", "[0.0, 24.0]]\nroof_straight",
        "roof_line =", "target 'lines': roof_line row 2", "does not rise above 0"),
    job("roof of one row", "[[0.0, 25.0], [60.0, 24.0]]\nroof_straight", "[[0.0, 25.0]]\nroof_straight",
        "roof_line =", "target 'lines': roof_line", "has one row; give from 2"),
    job("roof row of three", "[60.0, 24.0]]\nroof_straight", "[60.0, 24.0, 1]]\nroof_straight",
        "roof_line =", "target 'lines': roof_line row 2", "is not 2 numbers; give [distance, height]"),
    job("roof a number", "[[0.0, 25.0], [60.0, 24.0]]\nroof_straight", "25.0\nroof_straight",
        "roof_line =", "target 'lines': roof_line", "rows of [distance, height]"),
    job("two roofs", "roof_straight = true", "roof_raise = [[0, 1], [60, 1]]",
        "roof_raise", "target 'lines': roof_raise", "a second time, beside roof_line"),
    job("roof and sections", "roof_straight = true", 'sections = "rough-1.csv"',
        'sections = "rough-1.csv"\nroof_corner', "target 'lines': sections", "a second time, beside roof_line"),
    job("sections and copy", 'copy_of = {', 'sections = "rough-1.csv"\ncopy_of = {',
        "copy_of", "target 'pattern': copy_of", "a second time, beside sections"),
    job("target of nothing", 'name = "sections"\nsections = "rough-1.csv"', 'name = "sections"',
        'name = "sections"', "target 'sections': name", "says nothing of what is wanted"),
    job("straight without a roof", 'name = "sections"\n', 'name = "sections"\nroof_straight = true\n',
        'roof_straight = true\nsections', "target 'sections': roof_straight", "is said of no roof line"),
    job("widen inwards", "[0.0, 0.5, 0.5]", "[0.0, -0.5, 0.5]",
        "widen =", "target 'lines': widen row 1 left", "-0.5 is out of range"),
    job("corner radius negative", "radius = 9.5", "radius = -9.5",
        "-9.5", "target 'lines': roof_corner_radius", "of at least 0"),
    job("copy of no port", '{ port = "1", stage = "roughed" }', '{ port = "7", stage = "roughed" }',
        '"7"', "target 'pattern' copy_of: port", '"7" is not the name of a [[port]]'),
    job("copy of no stage", '{ port = "1", stage = "roughed" }', '{ port = "1", stage = "rough" }',
        '"rough"', "target 'pattern' copy_of: stage", 'nearest known name is "roughed"'),
    # hazards
    job("hazard of no length", "end = [91.4, 41.8, 93.0]", "end = [91.4, 41.8, 86.0]",
        "end = [91", "hazard 'bolt hole': end", "a hole of zero length"),
    job("hazard short of a key", "diameter = 11.0\n", "",
        '[[hazard]]', "hazard 'bolt hole': diameter", "a cylinder needs start, end, diameter"),
    job("hazard with a key of another", "normal = [", "diameter = 1.0\nnormal = [",
        "diameter = 1.0", "hazard 'rocker floor': diameter", "means nothing to the shape plane"),
    job("plane facing nowhere", "[0.0, 0.0, 1.0]", "[0.0, 0.0, 0.0]",
        "normal =", "hazard 'rocker floor': normal", "points nowhere"),
    job("hazard of no port", 'ports = ["2"]', 'ports = ["3"]',
        'ports = ["3"]', "hazard 'bolt hole': ports", '"3" is not the name of a [[port]]'),
    job("hazard port twice", 'ports = ["2"]', 'ports = ["2", "2"]',
        'ports = ["2"', "hazard 'bolt hole': ports", '"2" is named twice'),
    job("mesh of another kind", '"water.stl"', '"walls.csv"',
        'file = "walls.csv"', "hazard 'water': file", "is not a mesh file"),
    job("readings of two ports", 'ports = ["1"]', 'ports = ["1", "2"]',
        'ports = ["1"', "hazard 'thickness': ports", "taken in one port"),
    # cutting, valve, bench
    job("cutter shape", 'shape = "ball"', 'shape = "bal"',
        '"bal"', "cutter 'ball 10': shape", 'nearest known word is "ball"'),
    job("cutter of no size", "diameter = 10.0", "diameter = 0",
        "diameter = 0", "cutter 'ball 10': diameter", "of at least 0.001"),
    job("pass without its cutter", 'cutter = "ball 10"', 'cutter = "ball 12"',
        '"ball 12"', "pass 'depth grooves': cutter", 'nearest known cutter is "ball 10"'),
    job("pass from after to", "to = 40.0", "to = 4.0",
        "to = 4.0", "pass 'depth grooves': to", "does not lie beyond from"),
    job("pass leaves all", "leave = 0.8", "leave = 3.2",
        "leave =", "pass 'depth grooves': leave", "nothing would be cut"),
    job("rows by half", "rows = 3", "rows = 2.5",
        "rows =", "pass 'depth grooves': rows", "a whole number from 1 to 50"),
    job("rows unlike across", "rows = 3", "rows = 2",
        "rows =", "pass 'depth grooves': rows", "is 2 where across places 3"),
    job("rows of a level", "overshoot = 0.4", "rows = 3",
        "rows = 3\n\n[[valve", "pass 'level': rows", "only grooves have rows"),
    job("throat beyond the valve", "throat_diameter = 46.0", "throat_diameter = 53.0",
        "53.0", "valve number 1: throat_diameter", "no smaller than the valve's head"),
    job("flow in no unit of flow", '"225 cfm"', '"400 kg"',
        '"400 kg"', "flow number 1: rate", "not a unit of flow"),
    job("negative depression", '"28 inH2O"', '"-28 inH2O"',
        "-28 inH2O", "flow number 1: depression", "give the depression as a positive number"),
    job("flow without its rate", 'rate = "225 cfm"', 'date = "2026-03-14"',
        "[[flow]]", "flow number 1: rate", 'or readings = [[lift, "rate"], ...]'),
    job("flow said twice", "lift = 10.0", 'readings = [[10.0, "225 cfm"]]',
        "readings = [[", "flow number 1: readings", "give either lift and rate, or readings"),
    job("leak of all the flow", "lift = 10.0", 'lift = 10.0\nleak = "225 cfm"',
        "leak", "flow number 1: leak", "no less than the flow itself"),
    job("day that is none", "lift = 10.0", 'lift = 10.0\ndate = "2026-02-30"',
        "2026-02-30", "flow number 1: date", "write year, month and day"),
    job("air of no temperature", "lift = 10.0", 'lift = 10.0\nair = { temperature = 20 }',
        "temperature = 20", "flow number 1 air: temperature", 'as "20 C"'),
    job("seat wider than the valve", "seat_width = 1.5", "seat_width = 26.0",
        "26.0", "valve number 1: seat_width", "leaves nothing of the valve's head"),
    job("larger head that is smaller", "seat_width = 1.5", "seat_width = 1.5\nlarger_heads = [51.0]",
        "51.0", "valve number 1: larger_heads", "give larger diameters only"),
    job("engine without its bore", "[accuracy]", "[engine]\nstroke = 90.0\nrpm = 6000\n\n[accuracy]",
        "[engine]", "engine: bore", "give the bore of a cylinder"),
    job("efficiency in percent", "[accuracy]",
        "[engine]\nbore = 100.0\nstroke = 90.0\nrpm = 6000\nvolumetric_efficiency = 95\n\n[accuracy]",
        "efficiency = 95", "engine: volumetric_efficiency", "at most 3"),
    job("flow without unit", '"28 inH2O"', "28",
        "depression = 28", "flow number 1: depression", 'as "28 inH2O"'),
    job("flow in an unknown unit", '"28 inH2O"', '"28 inHg"',
        "inHg", "flow number 1: depression", "not a unit of pressure"),
    job("flow of no stage", 'stage = "as cast"', 'stage = "as found"',
        "as found", "flow number 1: stage", '"as found" is not the name'),
    job("accuracy negative", "gauge = 0.1", "gauge = -0.1",
        "gauge", "accuracy: gauge", "-0.1 is out of range"),
]
# fmt: on

A, B, R = "cast-1.csv", "traces/b.csv", "rough-1.csv"

# fmt: off
IN_TABLES = [
    table(A, "column unknown", ",width,", ",widht,",
        "station,", "widht", 'nearest known column is "width"'),
    table(A, "column twice", ",yaw,", ",pitch,",
        "station,", "pitch", "is the name of two columns"),
    table(A, "shape column left out", ",shape,", ",place,",
        "station,", "shape", "this column is missing"),
    table(A, "shape unknown", "rectangle", "rectangel",
        "A,0", "shape", 'nearest known shape is "rectangle"'),
    table(A, "shape blank", "rectangle", "",
        "A,0", "shape", "is blank; write one of circle"),
    table(A, "width blank", "42,50", ",50",
        "A,0", "width", "give the width of the rectangle"),
    table(A, "width of text", "42,50", "42mm,50",
        "A,0", "width", '"42mm" is not a number; write the number alone'),
    table(A, "width negative", "42,50", "-42,50",
        "A,0", "width", "-42.0 is out of range"),
    table(A, "width not a number", "42,50", "nan,50",
        "A,0", "width", '"nan" is not a number'),
    table(A, "width with a decimal comma", "42,50", '"42,5",50',
        "A,0", "width", "write a decimal point"),
    table(A, "a radius on a circle", "circle,46,,", "circle,46,,3",
        "E,60", "radius", "means nothing to the shape circle"),
    table(A, "two diameters", "circle,46,", "circle,46,47",
        "E,60", "height", "a circle has one diameter"),
    table(A, "no diameter", "circle,46,", "circle,,",
        "E,60", "width", "give the diameter of the circle"),
    table(A, "radii too long", "9.5,", "20,",
        "B,20", "radius", "corner radii 20 and 20 are longer than the top"),
    table(A, "corner given twice", "9.5,,", "9.5,4,",
        "B,20", "radius_top", "a corner that radius gives too"),
    table(A, "corner not given", "11,10,", "11,,",
        "A,0", "radius_br", "this corner has no radius while others have"),
    table(A, "distance falls", "C,40", "C,10",
        "C,10", "distance", "10 does not rise above 20 in row 3"),
    table(A, "distance stands still", "C,40", "C,20",
        "C,20", "distance", "20 does not rise above 20 in row 3"),
    table(A, "distance blank", "C,40", "C,",
        "C,,", "distance", "give every station its distance"),
    table(A, "path off the face", "A,0", "A,2",
        "A,2", "distance", "begin with a station at distance 0"),
    table(A, "pitch blank", "C,40,20", "C,40,",
        "C,40", "pitch", "is blank where other stations have it"),
    table(A, "pitch beyond a turn", "C,40,20", "C,40,400",
        "C,40", "pitch", "at most 360 degrees"),
    table(A, "place unknown", "pinch", "pintch",
        "B,20", "place", 'nearest known place is "pinch"'),
    table(A, "two throats", "bowl", "throat",
        "E,60", "place", "give each branch as a port of its own"),
    table(A, "stations alike", "B,20", "A,20",
        "A,20", "station", '"A" is also in row 2'),
    table(A, "cell too many", ",face", ",face,7",
        "A,0", "row", 'has the cell "7" beyond the last column'),
    table(A, "quotation mark too many", "A,0,3", 'A,"0"0,3',
        'A,"0"0', "row", "look for a quotation mark"),
    table(A, "tabs", A, A,
        None, "stations", "has tabs between its cells"),
    table(A, "empty", A, A,
        None, "stations", "is empty; begin with a row of column names"),
    table(R, "one station", "B,30,obround,41,49\nC,60,circle,46,\n", "",
        None, "stations", "holds one station; give two stations or more"),
    table(R, "no distance at all", "station,distance", "place,pitch",
        "place,", "distance", "no station has a distance"),
    table("cast-2.csv", "outline a drawing", "traces/a.csv", "traces/a.dxf",
        "A,0", "outline", "is not in the job folder"),
    table("cast-2.csv", "outline blank", "traces/a.csv", "",
        "A,0", "outline", "name the file"),
    table("cast-2.csv", "outline missing", "traces/a.csv", "traces/c.csv",
        "A,0", "outline", "is not in the job folder"),
    table("cast-2.csv", "outline elsewhere", "traces/a.csv", "../a.csv",
        "A,0", "outline", "leads out of the job folder"),
    table(B, "trace crosses itself", "19,-19\n19,19\n", "19,19\n19,-19\n",
        None, "u, v", "crosses or touches itself at u"),
    table(B, "trace of two points", "19,19\n0,21\n-19,19\n", "",
        None, "u, v", "holds 2 points; an outline needs at least 3"),
    table(B, "trace on one line", "19,-19\n19,19\n0,21\n-19,19\n-19,-19\n", "1,1\n2,2\n3,3\n",
        None, "u, v", "holds no area"),
    table(B, "trace cell blank", "0,21", ",21",
        ",21", "u", "give every point a u and a v"),
    table(B, "trace cell of text", "0,21", "0,top",
        "0,top", "v", '"top" is not a number'),
    table(B, "trace of another head", "u,v", "x,v",
        "x,v", "x", "is not a column of this table; known are u, v"),
    table("walls.csv", "reading beyond the clock", "20,90", "20,450",
        "20,450", "clock", "at most 360 degrees"),
    table("walls.csv", "reading blank", "20,90,4.0", "20,90,",
        "20,90", "wall", "give every reading"),
    table("walls.csv", "no readings", "10,0,5.5\n20,90,4.0\n", "",
        None, "readings", "holds no readings"),
]
# fmt: on


def row_of(text: str, at: str | None) -> int | None:
    """Return the line on which ``at`` begins."""
    if at is None:
        return None
    assert at in text
    return text.count("\n", 0, text.index(at)) + 1


@pytest.mark.parametrize("spoilt", [*IN_JOB, *IN_TABLES], ids=lambda s: f"{s.file}: {s.claim}")
def test_a_fault_is_told_with_its_place_and_mend(folder: JobFolder, spoilt: Spoilt) -> None:
    if spoilt.claim == "tabs":
        folder.texts[spoilt.file] = folder.texts[spoilt.file].replace(",", "\t")
    elif spoilt.claim == "empty":
        folder.texts[spoilt.file] = "\n\n"
    else:
        folder.swap(*spoilt.edit)
    faults = folder.faults()
    here = [f for f in faults if (f.file, f.field) == (spoilt.file, spoilt.field)]
    assert here, [(f.file, f.row, f.field, f.found) for f in faults]
    assert here[0].row == row_of(folder.texts[spoilt.file], spoilt.at)
    assert spoilt.words in f"{here[0].found}; {here[0].mend}"


@pytest.mark.parametrize(("key", "wrong"), [("title", "titel"), ("units", "unit"), ("material", "matrial")])
def test_a_misspelt_key_is_told_once_and_not_as_missing_too(folder: JobFolder, key: str, wrong: str) -> None:
    folder.swap("job.toml", f"{key} ", f"{wrong} ")
    assert [f.field for f in folder.faults()] == [wrong]
