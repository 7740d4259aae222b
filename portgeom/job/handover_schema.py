"""Which keys of job.toml tell of the head's receipt, its match, its valve job, the quote and the handover?"""

from __future__ import annotations

from portgeom.job.drawing import MM_PER
from portgeom.job.keys import Key, Table, Tables
from portgeom.job.kinds import FileName, Flag, Number, Text, Word, distance, size
from portgeom.job.spans import Cuts, Holes, Lines, PlanePoint, RangeKind, Sizes

PERCENT = Number(least=0.0, above=True, most=100.0)
RATE = RangeKind(Number(least=0.0, above=True, most=10_000.0))
CC = Number(least=0.0, above=True, most=100_000.0)

RECEIPT = Table(
    (
        Key("head", Text()),
        Key("owner", Text()),
        Key("date", Text()),
        Key("pressure_test", Text()),
        Key("crack_test", Text()),
        Key("deck_flatness", distance()),
        Key("face_flatness", distance()),
        Key("most_flatness", distance()),
        Key("earlier_work", Lines()),
        Key("wanted", Lines()),
    )
)

OPENED = Tables(
    (
        Key("port", Text(), required=True, why="the name of the port"),
        Key("where", Text(), required=True, why='what was opened, as "bolt hole"'),
        Key("sealed", Text()),
        Key("tested", Text()),
    ),
    most=200,
    unique=None,
)

PART = (
    Key("outline", FileName(), required=True, why="the file of its opening: a CSV, DXF or SVG"),
    Key("layer", Text()),
    Key("drawing_units", Word(tuple(MM_PER))),
    Key("from_head", Flag()),
    Key("holes", Holes(), required=True, why="the places of its holes, in the order of the head's"),
    Key("hole_diameter", Sizes()),
)

MATCH = Table(
    (
        Key(
            "holes", Holes(), required=True, why="bolts or dowels in the face, [across, up] from where the path starts"
        ),
        Key("pin_diameter", Sizes()),
        Key("gasket", Table(PART)),
        Key("manifold", Table(PART)),
        Key("bolted_to", Word(("one head", "two heads", "elsewhere"))),
        Key("vee_angle", Number("degrees", least=0.0, above=True, most=180.0)),
    )
)

MILLING = Table((Key("deck", distance()), Key("intake_face", distance()), Key("exhaust_face", distance())))

SEAT = Table(
    (
        Key("cuts", Cuts()),
        Key("contact_diameter", size()),
        Key("insert_diameter", size()),
        Key("runout", distance()),
        Key("depth", distance()),
    )
)

VALVE_GUIDE = Table(
    (
        Key("outer_diameter", size()),
        Key("inner_diameter", size()),
        Key("boss_diameter", size()),
        Key("boss_length", size()),
    )
)

VALVE_LIMITS = Table(
    (
        Key("throat_low_percent", PERCENT),
        Key("throat_high_percent", PERCENT),
        Key("insert_wall", size()),
        Key("runout", size()),
        Key("clearance_low", distance()),
        Key("clearance_high", size()),
        Key("guide_metal", size()),
        Key("room", size()),
    )
)

CHAMBER = Table(
    (
        Key("outline", FileName()),
        Key("layer", Text()),
        Key("drawing_units", Word(tuple(MM_PER))),
        Key("bore", size()),
        Key("intake_valve", PlanePoint()),
        Key("exhaust_valve", PlanePoint()),
        Key("poured_cc", CC),
        Key("wanted_cc", CC),
        Key("deck_area", Number("area", least=0.0, above=True)),
        Key("gasket_bore", size()),
        Key("gasket_thickness", size()),
        Key("deck_clearance", distance()),
        Key("piston_cc", Number(least=-1000.0, most=1000.0)),
    )
)

QUOTE = Table(
    (
        Key("metal_cc_per_min", RATE),
        Key("finish_cm2_per_min", RATE),
        Key("hourly_rate", Number(least=0.0, above=True, most=1e9)),
        Key("currency", Text()),
        Key(
            "fixed",
            Tables(
                (
                    Key("name", Text(), required=True, why='what is done, as "mark out"'),
                    Key(
                        "minutes",
                        RangeKind(Number(least=0.0, most=100_000.0)),
                        required=True,
                        why="its minutes, one number or [least, likely, most]",
                    ),
                    Key("each", Word(("port", "head"))),
                ),
                most=50,
            ),
        ),
        Key("not_included", Lines()),
    )
)
