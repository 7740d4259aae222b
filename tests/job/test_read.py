"""A sound job is read whole, in millimetres; an unsound one tells every fault at once."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from collections.abc import Callable
from math import pi
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Copy, Schedule

if TYPE_CHECKING:
    from conftest import JobFolder


def test_a_whole_job_is_read(folder: JobFolder) -> None:
    job = folder.read()
    assert (job.title, job.units, job.material, job.density_g_cc) == ("Two ports", "mm", "grey iron", 7.2)
    assert (job.min_wall_mm, job.respect_walls, job.limits.bulge_mm, job.limits.neck_percent) == (3.0, True, 0.6, 1.0)
    assert (job.accuracy.gauge_mm, job.accuracy.trace_mm, job.accuracy.pour_cc) == (0.1, 0.2, 0.4)
    assert job.folder == folder.root
    assert job.notes == ()

    one, two = job.ports
    assert (one.name, one.kind, one.target, one.mirrored) == ("1", "intake", "lines", True)
    assert (one.left_wall, one.right_wall, one.throat_mm, one.roof_end_mm) == (
        "pushrod wall",
        "common wall",
        60.0,
        55.0,
    )
    assert one.schedule == Schedule(by_place=(("face", 2020.0), ("throat", 1660.0)))
    assert [s.name for s in one.stages] == ["as cast", "roughed"]
    assert one.stages[0].poured_cc == 95.0
    assert one.guide is not None
    assert one.guide.axis_mm.tolist() == [[30.0, 50.0, 70.0], [30.0, 55.0, 20.0]]
    assert (two.kind, two.left_wall, two.right_wall, two.mirrored) == ("exhaust", "left wall", "right wall", False)
    assert two.schedule == Schedule(by_distance=((0.0, 2020.0), (60.0, 1660.0)))
    assert two.stages[0].sections.rows[2].outline.area_mm2 == pytest.approx(38.0 * 38.0 + 38.0 * 2.0 / 2.0)
    assert one.stages[0].sections.rows[4].outline.area_mm2 == pytest.approx(pi * 23.0**2)

    lines, sections, pattern = job.targets
    assert lines.roof is not None
    assert lines.roof.rows.tolist() == [[0.0, 25.0], [60.0, 24.0]]
    assert lines.corner_radius is not None
    assert lines.corner_radius.rows.tolist() == [[0.0, 9.5]]
    assert (lines.roof_kind, lines.roof_straight, lines.throat_diameter_mm) == ("roof_line", True, 46.5)
    assert sections.sections is not None
    assert len(sections.sections.rows) == 3
    assert pattern.copy_of == Copy("1", "roughed")

    bolt, floor, water, thickness = job.hazards
    assert (bolt.min_wall_mm, bolt.casting_tolerance_mm, bolt.drill_point, bolt.thread_to_mm) == (2.0, 0.5, True, 5.0)
    assert floor.normal is not None
    assert floor.normal.tolist() == [0.0, 0.0, 1.0]
    assert water.file == "water.stl"
    assert [(r.distance_mm, r.clock_deg, r.wall_mm) for r in thickness.readings] == [
        (10.0, 0.0, 5.5),
        (20.0, 90.0, 4.0),
    ]
    assert (job.cutters[0].rate_cc_per_min, job.cutters[0].vibration_m_s2) == (0.8, 4.5)
    assert (job.passes[0].rows, job.passes[0].across_mm, job.passes[1].overshoot_mm) == (3, (-8.0, 0.0, 8.0), 0.4)
    assert job.flow[0].depression.amount == pytest.approx(28.0 * 249.0889, rel=1e-6)


def test_arrays_of_a_job_cannot_be_changed(folder: JobFolder) -> None:
    arrays = [v for _, v in leaves(folder.read()) if isinstance(v, np.ndarray)]
    assert arrays
    assert not any(a.flags.writeable for a in arrays)


def test_the_file_and_its_folder_are_the_same_job(folder: JobFolder) -> None:
    root = folder.write()
    assert same(read_job(root), read_job(root / "job.toml"))


@pytest.mark.parametrize(
    "save",
    [
        lambda t: "\ufeff" + t,
        lambda t: t.replace("\n", "\r\n"),
        lambda t: t.replace(",", ";"),
        lambda t: (
            t.replace(",", ";").replace(".", ",").replace("traces/a,csv", "traces/a.csv").replace("b,csv", "b.csv")
        ),
        lambda t: t.replace("\n", ",,\n") + ",,,\n\n",
    ],
    ids=["byte order mark", "crlf", "semicolons", "decimal commas", "blank cells and rows"],
)
def test_tables_saved_in_any_way_give_the_same_job(
    new_folder: Callable[[str], JobFolder], save: Callable[[str], str]
) -> None:
    plain, saved = new_folder("plain"), new_folder("saved")
    for name, text in saved.texts.items():
        if name.endswith(".csv"):
            saved.texts[name] = save(text)
    assert same(plain.read(), saved.read())


def test_a_job_file_with_a_byte_order_mark_or_crlf_is_the_same_job(new_folder: Callable[[str], JobFolder]) -> None:
    plain, saved = new_folder("plain"), new_folder("saved")
    saved.texts["job.toml"] = "\ufeff" + saved.texts["job.toml"].replace("\n", "\r\n")
    assert same(plain.read(), saved.read())


# fmt: off
LENGTH_KEYS = (
    "min_wall", "bulge", "gauge", "position", "throat", "roof_end", "axis", "boss_diameter", "length", "roof_line",
    "roof_corner_radius", "widen", "floor_line", "throat_diameter", "start", "end", "diameter", "casting_tolerance",
    "thread_to", "point", "shank", "reach", "across", "from", "to", "depth", "leave", "overshoot", "head_diameter",
    "stem_diameter", "seat_width", "lift",
)
LENGTH_COLUMNS = (
    "distance", "width", "height", "radius", "radius_top", "radius_bottom", "across", "up", "u", "v", "wall",
)
# fmt: on


def in_inches(name: str, text: str) -> str:
    """Return a file of the valid job with every length and area in inches."""

    def inch(number: re.Match[str]) -> str:
        return repr(float(number[0]) / 25.4)

    if name == "job.toml":
        text = text.replace('units = "mm"', 'units = "in"')
        text = text.replace("2020.0", repr(2020.0 / 645.16)).replace("1660.0", repr(1660.0 / 645.16))
        text = text.replace("[60.0, 2.5", f"[{60 / 25.4!r}, 2.5")
        lines = text.split("\n")
        for i, line in enumerate(lines):
            key, _, value = line.partition("=")
            if key.strip() in LENGTH_KEYS:
                lines[i] = f"{key}={re.sub(r'-?[0-9.]+', inch, value)}"
        return "\n".join(lines)
    rows = [row.split(",") for row in text.strip().split("\n")]
    for row in rows[1:]:
        for i, column in enumerate(rows[0]):
            if column in LENGTH_COLUMNS and row[i]:
                row[i] = repr(float(row[i]) / 25.4)
    return "\n".join(",".join(row) for row in rows)


def test_a_job_in_inches_is_the_same_job(new_folder: Callable[[str], JobFolder]) -> None:
    metric, imperial = new_folder("mm"), new_folder("in")
    for name, text in imperial.texts.items():
        if not name.endswith(".stl"):
            imperial.texts[name] = in_inches(name, text)
    assert "2020" not in imperial.texts["job.toml"]
    inches = imperial.read()
    assert inches.units == "in"
    assert same(metric.read(), inches)


def test_bounds_are_told_in_the_jobs_own_unit(folder: JobFolder) -> None:
    for name, text in folder.texts.items():
        if not name.endswith(".stl"):
            folder.texts[name] = in_inches(name, text)
    folder.texts["job.toml"] = re.sub("min_wall = .*", "min_wall = 400", folder.texts["job.toml"], count=1)
    assert [f.mend for f in folder.faults()] == ["give a number of at least 0 and at most 393.701 in"]


def test_every_fault_of_a_job_is_told_in_one_run(folder: JobFolder) -> None:
    folder.swap("job.toml", "min_wall = 3.0", "min_wal = 3.0")
    folder.swap("job.toml", 'target = "lines"', 'target = "line"')
    folder.swap("job.toml", "diameter = 11.0", "diameter = -11.0")
    folder.swap("cast-1.csv", "42,50", ",50")
    folder.swap("cast-1.csv", "C,40", "C,10")
    folder.swap("traces/b.csv", "0,21", "0,top")
    folder.swap("walls.csv", "20,90", "20,450")
    assert {(f.file, f.field) for f in folder.faults()} == {
        ("job.toml", "min_wal"),
        ("job.toml", "port '1': target"),
        ("job.toml", "hazard 'bolt hole': diameter"),
        ("cast-1.csv", "width"),
        ("cast-1.csv", "distance"),
        ("traces/b.csv", "v"),
        ("walls.csv", "clock"),
    }


def test_a_trace_used_twice_tells_its_fault_once(folder: JobFolder) -> None:
    folder.swap("traces/b.csv", "0,21", "0,top")
    assert len(folder.faults()) == 1


def test_notes_of_a_sound_job_come_with_it(folder: JobFolder) -> None:
    folder.texts["traces/a.csv"] = "u,v\n20,-20\n-20,-20\n-20,20\n20,20\n20,-20\n"
    notes = folder.read().notes
    assert [(n.file, n.row, n.field) for n in notes] == [("traces/a.csv", 6, "u, v"), ("traces/a.csv", None, "u, v")]


@pytest.mark.parametrize(
    ("text", "row", "words"),
    [
        ("title = \n", 1, "is not TOML at column 9: Invalid value"),
        ("title = 'a'\r\n\r\nunits = mm\r\n", 3, "is not TOML at column 9"),
        ("a = 1\na = 2\n", 2, "Cannot overwrite a value"),
        ("a = '''\n\n", 3, "is not TOML"),
        ("a = " + "[" * 5000, None, "nests lists or tables too deep"),
        ("a = " + "9" * 5000, None, "a value cannot be read"),
        ("a = 1979-99-99\n", 1, "is not TOML"),
        ("x = 1\na" + ".a" * 400_000 + " = 1\n", 2, "has a key of more than 16 dots"),
    ],
    ids=["no value", "bare word", "key twice", "open string", "too deep", "too long a number", "no date", "dots"],
)
def test_text_that_is_no_toml_is_told_with_its_row(folder: JobFolder, text: str, row: int | None, words: str) -> None:
    folder.texts["job.toml"] = text
    (fault,) = folder.faults()
    assert (fault.file, fault.row) == ("job.toml", row)
    assert words in fault.found


def test_a_job_file_that_is_not_utf_8_is_told_with_its_row(folder: JobFolder) -> None:
    root = folder.write()
    (root / "job.toml").write_bytes(b'title = "x"\nunits = "\xff"\n')
    with pytest.raises(JobError, match=r"^job\.toml: row 2: text: byte 0xff is not UTF-8; save it as UTF-8"):
        read_job(root)


def test_a_job_file_too_large_is_refused(folder: JobFolder) -> None:
    folder.texts["job.toml"] += "#" * 1_000_000
    (fault,) = folder.faults()
    assert fault.mend == "at most 1000000 are read"


def test_a_table_too_large_is_refused_where_it_is_named(folder: JobFolder) -> None:
    folder.texts["cast-1.csv"] += "\n" * 2_000_000
    (fault,) = folder.faults()
    assert (fault.file, fault.field, fault.mend) == (
        "job.toml",
        "port '1' stage 'as cast': sections",
        "at most 2000000 are read",
    )


def test_unknown_keys_beyond_fifty_are_told_together(folder: JobFolder) -> None:
    folder.texts["job.toml"] = "".join(f"key{i} = 1\n" for i in range(60)) + folder.texts["job.toml"]
    faults = folder.faults()
    assert len(faults) == 51
    assert faults[-1].found == "has 10 more keys that are not known here"


def test_too_many_ports_are_refused(folder: JobFolder) -> None:
    port = '[[port]]\nname = "{}"\nkind = "intake"\n[[port.stage]]\nname = "a"\nsections = "cast-1.csv"\n'
    head = 'title = "x"\nunits = "mm"\nmaterial = "aluminium"\n'
    folder.texts["job.toml"] = head + "".join(port.format(i) for i in range(65))
    (fault,) = folder.faults()
    assert (fault.field, fault.mend) == ("port", "give from 1 to 64 [[port]]")


@pytest.mark.parametrize("name", ["", "nowhere", "nowhere/job.toml", "a\x00b"])
def test_a_job_that_is_not_there_is_told(tmp_path: Path, name: str) -> None:
    with pytest.raises(JobError, match=r"name a job folder or its job\.toml|check the path"):
        read_job(tmp_path / name)


def test_a_target_of_a_single_port_needs_no_position(folder: JobFolder) -> None:
    start = folder.texts["job.toml"].index('[[port]]\nname = "2"')
    end = folder.texts["job.toml"].index("[[target]]")
    folder.texts["job.toml"] = folder.texts["job.toml"][:start] + folder.texts["job.toml"][end:]
    folder.swap("job.toml", "position = [30.0, 0.0, 60.0]\n", "")
    folder.swap("job.toml", 'ports = ["2"]\n', "")
    assert folder.read().ports[0].position_mm is None


def test_a_job_of_gauge_readings_is_read_without_the_plane_geometry_library(folder: JobFolder) -> None:
    root = folder.write()
    (root / "cast-2.csv").write_text((root / "rough-1.csv").read_text(encoding="utf-8"), encoding="utf-8")
    code = (
        "import sys, pathlib; from portgeom.job.read import read_job; read_job(pathlib.Path(sys.argv[1])); "
        "print(sorted({'shapely', 'scipy', 'trimesh', 'pyvista', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(root)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def leaves(value: object, path: str = "") -> list[tuple[str, object]]:
    """Return every plain value within a value, with where it is."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = [f.name for f in dataclasses.fields(value)]
        return [leaf for name in fields for leaf in leaves(getattr(value, name), f"{path}.{name}")]
    if isinstance(value, tuple):
        return [leaf for i, item in enumerate(value) for leaf in leaves(item, f"{path}[{i}]")]
    return [(path, value)]


def same(first: object, second: object) -> bool:
    """Return whether two jobs hold the same, but for their folder and units, to rounding."""
    one, other = leaves(first), leaves(second)
    assert [path for path, _ in one] == [path for path, _ in other]
    for (path, a), (_, b) in zip(one, other, strict=True):
        if path in (".folder", ".units"):
            continue
        if isinstance(a, float | np.ndarray):
            assert isinstance(b, type(a)), path
            assert np.allclose(a, b, rtol=1e-12, atol=1e-12), path
        else:
            assert a == b, path
    return True
