"""A small valid job that uses every kind of key and table, and ways to spoil it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Job, Note

JOB = """\
title = "Two ports"
units = "mm"
material = "grey iron"
min_wall = 3.0
respect_walls = true

[limits]
bulge = 0.6

[[port]]
name = "1"
kind = "intake"
target = "lines"
position = [30.0, 0.0, 60.0]
mirrored = true
throat = 60.0
roof_end = 55.0
schedule = { face = 2020.0, throat = 1660.0 }
  [port.walls]
  left = "pushrod wall"
  right = "common wall"
  [port.guide]
  axis = [[30.0, 50.0, 70.0], [30.0, 55.0, 20.0]]
  boss_diameter = 15.0
  length = 6.0
  [[port.stage]]
  name = "as cast"
  sections = "cast-1.csv"
  poured_cc = 95.0
  [[port.stage]]
  name = "roughed"
  sections = "rough-1.csv"

[[port]]
name = "2"
kind = "exhaust"
target = "sections"
position = [94.0, 0.0, 60.0]
schedule = [[0.0, 2020.0], [60.0, 1660.0]]
  [[port.stage]]
  name = "as cast"
  sections = "cast-2.csv"

[[target]]
name = "lines"
roof_line = [[0.0, 25.0], [60.0, 24.0]]
roof_straight = true
roof_corner_radius = 9.5
widen = [[0.0, 0.5, 0.5], [40.0, 0.0, 0.0]]
floor_line = [[0.0, -25.0], [60.0, -24.0]]
throat_diameter = 46.5

[[target]]
name = "sections"
sections = "rough-1.csv"

[[target]]
name = "pattern"
copy_of = { port = "1", stage = "roughed" }

[[hazard]]
name = "bolt hole"
ports = ["2"]
shape = "cylinder"
start = [91.4, 41.8, 86.0]
end = [91.4, 41.8, 93.0]
diameter = 11.0
min_wall = 2.0
casting_tolerance = 0.5
drill_point = true
thread_to = 5.0

[[hazard]]
name = "rocker floor"
shape = "plane"
point = [62.0, 40.0, 93.0]
normal = [0.0, 0.0, 1.0]

[[hazard]]
name = "water"
shape = "mesh"
file = "water.stl"

[[hazard]]
name = "thickness"
ports = ["1"]
shape = "readings"
file = "walls.csv"

[[cutter]]
name = "ball 10"
shape = "ball"
diameter = 10.0
length = 9.0
shank = 6.0
reach = 120.0
rate_cc_per_min = 0.8
vibration = 4.5

[[pass]]
name = "depth grooves"
kind = "grooves"
side = "roof"
cutter = "ball 10"
rows = 3
across = [-8.0, 0.0, 8.0]
from = 4.0
to = 40.0
depth = 3.2
leave = 0.8

[[pass]]
name = "level"
kind = "level"
side = "roof"
cutter = "ball 10"
overshoot = 0.4

[[valve]]
kind = "intake"
head_diameter = 52.0
throat_diameter = 46.0
stem_diameter = 8.0
seat_angle = 45.0
seat_width = 1.5

[[flow]]
port = "1"
stage = "as cast"
depression = "28 inH2O"
lift = 10.0
rate = "225 cfm"

[accuracy]
gauge = 0.1
pour_cc = 0.4
"""

CAST_1 = """\
station,distance,pitch,yaw,shape,width,height,radius,radius_top,radius_bottom,up,place
A,0,3,0,rectangle,42,50,,11,10,0.5,face
B,20,4,2,rectangle,38,48,9.5,,,,pinch
C,40,20,0,ellipse,40,47,,,,,turn
D,50,40,0,obround,48,46,,,,,bowl
E,60,60,0,circle,46,,,,,,throat
"""

ROUGH_1 = """\
station,distance,shape,width,height
A,0,obround,43,51
B,30,obround,41,49
C,60,circle,46,
"""

CAST_2 = """\
station,distance,pitch,shape,outline,across
A,0,3,outline,traces/a.csv,
B,30,10,outline,traces/b.csv,0.5
C,60,40,outline,traces/b.csv,
"""

TRACE_A = """\
u,v
20,-20
20,20
-20,20
-20,-20
"""

TRACE_B = """\
u,v
19,-19
19,19
0,21
-19,19
-19,-19
"""

WALLS = """\
distance,clock,wall
10,0,5.5
20,90,4.0
"""


@dataclass(slots=True)
class JobFolder:
    """A job folder on disk whose texts can be spoilt before it is read."""

    root: Path
    texts: dict[str, str] = field(default_factory=dict)

    def swap(self, file: str, old: str, new: str) -> None:
        """Replace ``old``, which must be there, the first time it stands in ``file``."""
        assert old in self.texts[file], f"{old!r} is not in {file}"
        self.texts[file] = self.texts[file].replace(old, new, 1)

    def write(self) -> Path:
        """Write every text and return the folder."""
        for name, text in self.texts.items():
            path = self.root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="")
        return self.root

    def read(self) -> Job:
        """Write and read the job."""
        return read_job(self.write())

    def faults(self) -> tuple[Note, ...]:
        """Write and read the job, which must not be sound, and return its faults."""
        with pytest.raises(JobError, match=r": .+; .+") as caught:
            self.read()
        return caught.value.faults


def valid_texts() -> dict[str, str]:
    """Return every file of the valid job."""
    return {
        "job.toml": JOB,
        "cast-1.csv": CAST_1,
        "rough-1.csv": ROUGH_1,
        "cast-2.csv": CAST_2,
        "traces/a.csv": TRACE_A,
        "traces/b.csv": TRACE_B,
        "walls.csv": WALLS,
        "water.stl": "solid water\nendsolid water\n",
    }


@pytest.fixture
def folder(tmp_path: Path) -> JobFolder:
    """Return the valid job, not yet written."""
    return JobFolder(tmp_path / "job", valid_texts())


@pytest.fixture
def new_folder(tmp_path: Path) -> Callable[[str], JobFolder]:
    """Return a maker of further folders with the valid job."""
    return lambda name: JobFolder(tmp_path / name, valid_texts())


@pytest.fixture(scope="session")
def texts_of_a_valid_job() -> dict[str, str]:
    """Return the texts of the valid job, for tests that write it many times."""
    return valid_texts()
