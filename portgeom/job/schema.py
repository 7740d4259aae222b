"""Which keys may job.toml have, and what may stand behind each?"""

from __future__ import annotations

from portgeom.job.amounts import Temperature, barometer, flow_rate, pressure, speed
from portgeom.job.flow_bench import Date, LiftsAndRates
from portgeom.job.handover_schema import (
    CHAMBER,
    MATCH,
    MILLING,
    OPENED,
    QUOTE,
    RECEIPT,
    SEAT,
    VALVE_GUIDE,
    VALVE_LIMITS,
)
from portgeom.job.keys import Key, Table, Tables
from portgeom.job.kinds import FileName, Flag, Material, Number, Text, Whole, Word, distance, length, size
from portgeom.job.lists import Names, NumberOrRows, Numbers, Rows, ScheduleKind, Triple, TwoPoints

FURTHEST_SEAT_MM = 100.0
"""No seat lies further from the last section that could be gauged: common practice, no source."""

MOST_PORTS = 64
MOST_ENTRIES = 200

CUTTER_SHAPES = (
    "ball",
    "cylinder",
    "round-nose cylinder",
    "oval",
    "arch round-nose",
    "arch pointed-nose",
    "flame",
    "cone",
    "conical round-nose",
)
"""The burr shapes of ISO 7755 that work in a port."""

KINDS = Word(("intake", "exhaust"))
VOLUME_CC = Number(least=0.0, above=True, most=100_000.0)

LIMITS = Table(
    (
        Key("neck_percent", Number(least=0.0, most=100.0)),
        Key("cone_angle", Number("degrees", least=0.0, above=True, most=180.0)),
        Key("bulge", size()),
        Key("straightedge", size()),
        Key("overcut", size()),
    )
)

ACCURACY = Table(
    (
        Key("gauge", distance()),
        Key("tool_bias", distance()),
        Key("trace", distance()),
        Key("distance", distance()),
        Key("pitch", Number("degrees", least=0.0, most=90.0)),
        Key("pour_cc", Number(least=0.0, most=1000.0)),
    )
)

POUR = Table(
    (
        Key("valve_in", Flag(), required=True, why="whether the valve stood closed in its seat, true or false"),
        Key("plate_recess_cc", Number(least=0.0, most=1000.0), required=True, why="what the plate held, often 0"),
        Key("to_seat", length(least_mm=0.0, most_mm=FURTHEST_SEAT_MM)),
        Key("boss_in_sections", Flag()),
    )
)

STAGE = Tables(
    (
        Key("name", Text(), required=True, why='the stage\'s name, as "as cast"'),
        Key("sections", FileName(), required=True, why="the file of its section table"),
        Key("poured_cc", VOLUME_CC),
        Key("pour", POUR),
        Key("after", Text()),
        Key("minutes", Number(least=0.0, above=True, most=100_000.0)),
    ),
    most=MOST_ENTRIES,
)

GUIDE = Table(
    (
        Key("axis", TwoPoints(), required=True, why="two points of the guide's axis, the first in the roof"),
        Key("boss_diameter", size(), required=True, why="the diameter of the boss round the guide"),
        Key("length", size(), required=True, why="how far the boss stands into the port"),
    )
)

PORT = Tables(
    (
        Key("name", Text(), required=True, why="the port's name, in quotes"),
        Key("kind", KINDS, required=True, why='"intake" or "exhaust"'),
        Key("target", Text()),
        Key("position", Triple()),
        Key("mirrored", Flag()),
        Key("walls", Table((Key("left", Text()), Key("right", Text())))),
        Key("throat", distance()),
        Key("roof_end", distance()),
        Key("schedule", ScheduleKind()),
        Key("guide", GUIDE),
        Key("match", MATCH),
        Key("stage", STAGE, required=True, why="one [[port.stage]] or more, what was measured"),
    ),
    most=MOST_PORTS,
)

TARGET = Tables(
    (
        Key("name", Text(), required=True, why="the target's name"),
        Key("roof_line", Rows(("height",), length())),
        Key("roof_from_deck", Rows(("z",), length())),
        Key("roof_raise", Rows(("rise",), length())),
        Key("roof_straight", Flag()),
        Key("roof_corner_radius", NumberOrRows("radius", distance())),
        Key("widen", Rows(("left", "right"), distance())),
        Key("floor_line", Rows(("height",), length())),
        Key("throat_diameter", size()),
        Key("sections", FileName()),
        Key(
            "copy_of",
            Table(
                (
                    Key("port", Text(), required=True, why="the port to copy"),
                    Key("stage", Text(), required=True, why="the stage of that port to copy"),
                )
            ),
        ),
    ),
    most=MOST_ENTRIES,
)

HAZARD = Tables(
    (
        Key("name", Text(), required=True, why="the hazard's name"),
        Key(
            "shape",
            Word(("cylinder", "plane", "mesh", "readings")),
            required=True,
            why='"cylinder", "plane", "mesh" or "readings"',
        ),
        Key("ports", Names()),
        Key("start", Triple()),
        Key("end", Triple()),
        Key("diameter", size()),
        Key("point", Triple()),
        Key("normal", Triple(direction=True)),
        Key("file", FileName()),
        Key("min_wall", distance()),
        Key("casting_tolerance", distance()),
        Key("drill_point", Flag()),
        Key("thread_to", distance()),
        Key("open_allowed", Flag()),
    ),
    most=MOST_ENTRIES,
)

CUTTER = Tables(
    (
        Key("name", Text(), required=True, why="the cutter's name"),
        Key("shape", Word(CUTTER_SHAPES), required=True, why='its shape by ISO 7755, as "ball"'),
        Key("diameter", size(), required=True, why="the diameter of its head"),
        Key("length", size(), required=True, why="the length of its head"),
        Key("shank", size(), required=True, why="the diameter of its shank"),
        Key("reach", size(), required=True, why="how far it stands out of the collet"),
        Key("rate_cc_per_min", Number(least=0.0, above=True, most=1000.0)),
        Key("vibration", Number(least=0.0, most=1000.0)),
    ),
    most=MOST_ENTRIES,
)

PASS = Tables(
    (
        Key("name", Text(), required=True, why="the pass's name"),
        Key("kind", Word(("grooves", "level", "blend")), required=True, why='"grooves", "level" or "blend"'),
        Key(
            "side",
            Word(("roof", "floor", "left", "right")),
            required=True,
            why='"roof", "floor", "left" or "right"',
        ),
        Key("cutter", Text(), required=True, why="the name of a [[cutter]]"),
        Key("rows", Whole(1, 50)),
        Key("across", Numbers(length(), most=50)),
        Key("from", distance()),
        Key("to", distance()),
        Key("depth", size()),
        Key("leave", distance()),
        Key("overshoot", distance()),
    ),
    most=MOST_ENTRIES,
)

VALVE = Tables(
    (
        Key("kind", KINDS, required=True, why='"intake" or "exhaust"'),
        Key("head_diameter", size(), required=True, why="the diameter of the valve's head"),
        Key("throat_diameter", size(), required=True, why="the diameter of the throat under the seat"),
        Key("stem_diameter", size(), required=True, why="the diameter of the stem"),
        Key(
            "seat_angle",
            Number("degrees", least=0.0, above=True, most=80.0),
            required=True,
            why="the angle of the seat, as 45.0",
        ),
        Key("seat_width", size(), required=True, why="the width of the seat, radially"),
        Key("seat_width_along", Word(("radius", "slope"))),
        Key("lifts", Numbers(size(), most=100)),
        Key("larger_heads", Numbers(size(), most=20)),
        Key("head_back_cc", Number(least=0.0, most=1000.0)),
        Key("back_angle", Number("degrees", least=0.0, most=80.0)),
        Key("seat", SEAT),
        Key("guide", VALVE_GUIDE),
        Key("limits", VALVE_LIMITS),
    ),
    most=2,
    unique="kind",
)

AIR = Table(
    (
        Key("temperature", Temperature()),
        Key("pressure", barometer()),
        Key("humidity", Number(least=0.0, most=100.0)),
    )
)

FLOW = Tables(
    (
        Key("port", Text(), required=True, why="the name of the port"),
        Key("stage", Text(), required=True, why="the name of the stage"),
        Key("depression", pressure(), required=True, why='the test depression, as "28 inH2O"'),
        Key("lift", distance()),
        Key("rate", flow_rate()),
        Key("readings", LiftsAndRates()),
        Key("leak", flow_rate()),
        Key("bench", Text()),
        Key("date", Date()),
        Key("entry_radius", distance()),
        Key("exhaust_pipe", Text()),
        Key("air", AIR),
    ),
    most=MOST_ENTRIES * 10,
    unique=None,
)

ENGINE = Table(
    (
        Key("bore", size(), required=True, why="the bore of a cylinder"),
        Key("stroke", size(), required=True, why="the stroke"),
        Key("rpm", Number(least=0.0, above=True, most=30_000.0), required=True, why="the speed, in turns a minute"),
        Key("volumetric_efficiency", Number(least=0.0, above=True, most=3.0)),
        Key("intake_valves", Whole(1, 4)),
        Key("flow_coefficient", Number(least=0.0, above=True, most=1.0)),
        Key("speed_limit", speed()),
    )
)

PERCENT = Number(least=0.0, most=50.0)

PROPOSE = Table(
    (
        Key("follow", Word(("schedule", "straight", "least area"))),
        Key("entry_area", Number("area", least=0.0, above=True)),
        Key("throat_area", Number("area", least=0.0, above=True)),
        Key("least_area", Number("area", least=0.0, above=True)),
        Key("taper_percent", PERCENT),
        Key("above_percent", PERCENT),
        Key("most_roof", distance()),
        Key("most_side", distance()),
        Key("most_floor", distance()),
        Key("from", distance()),
        Key("to", distance()),
        Key("roof_bow", distance()),
        Key("slope", Number(least=0.0, above=True, most=1.0)),
        Key("match_percent", PERCENT),
        Key("match_cc", Number(least=0.0, most=1000.0)),
        Key("roof_over_sides_percent", PERCENT),
        Key("outside_of_bend_percent", PERCENT),
        Key("sure", Number(least=0.0, most=6.0)),
        Key("aim", Word(("metal", "minutes"))),
    )
)

UNITS = Word(("mm", "in"))

JOB = (
    Key("title", Text(), required=True, why="the job's title"),
    Key("units", UNITS, required=True, why='"mm" or "in"'),
    Key("material", Material(), required=True, why='"grey iron", "aluminium" or a density in g/cc'),
    Key("min_wall", distance()),
    Key("respect_walls", Flag()),
    Key("limits", LIMITS),
    Key("port", PORT, required=True, why="one [[port]] or more"),
    Key("target", TARGET),
    Key("hazard", HAZARD),
    Key("cutter", CUTTER),
    Key("pass", PASS),
    Key("valve", VALVE),
    Key("flow", FLOW),
    Key("air", AIR),
    Key("engine", ENGINE),
    Key("accuracy", ACCURACY),
    Key("receipt", RECEIPT),
    Key("opened", OPENED),
    Key("milling", MILLING),
    Key("chamber", CHAMBER),
    Key("quote", QUOTE),
    Key("propose", PROPOSE),
)
"""Every key of job.toml, from the top down."""
