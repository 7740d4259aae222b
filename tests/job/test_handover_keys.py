"""Receipt, match, valve job, chamber, milling, opened walls and quote: read whole, and every fault with its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

if TYPE_CHECKING:
    from conftest import JobFolder

MATCH = """
  [port.match]
  holes = [[-40.0, 0.0], [40.0, 0.0]]
  pin_diameter = 8.0
  bolted_to = "two heads"
  vee_angle = 90.0
    [port.match.gasket]
    outline = "traces/a.csv"
    holes = [[-40.0, 0.0], [40.0, 0.0]]
    hole_diameter = [8.4, 9.0]
    [port.match.manifold]
    outline = "traces/b.csv"
    from_head = true
    holes = [[40.0, 1.0], [-40.0, 0.0]]
"""

VALVE = """
  [valve.seat]
  cuts = [[30.0, 1.0], [45.0, 1.5], [60.0, 2.0]]
  contact_diameter = 50.0
  insert_diameter = 55.0
  runout = 0.03
  depth = 0.8
  [valve.guide]
  outer_diameter = 13.0
  inner_diameter = 8.04
  boss_diameter = 19.0
  boss_length = 52.0
  [valve.limits]
  throat_low_percent = 87.0
  throat_high_percent = 90.0
  insert_wall = 2.0
"""

REST = """
[receipt]
head = "left, 3 | 17"
pressure_test = "held"
deck_flatness = 0.04
earlier_work = ["one guide new"]
wanted = "opened for the street"

[[opened]]
port = "2"
where = "bolt hole"
sealed = "sleeve"

[milling]
deck = 0.5

[chamber]
outline = "traces/a.csv"
bore = 100.0
intake_valve = [-20.0, 1.0]
poured_cc = 64.0
piston_cc = -2.0

[quote]
metal_cc_per_min = [0.2, 0.5]
finish_cm2_per_min = [3.0, 4.0, 8.0]
hourly_rate = 60.0
currency = "crowns"
not_included = ["guides"]
  [[quote.fixed]]
  name = "mark out"
  minutes = 20
  [[quote.fixed]]
  name = "wash"
  minutes = [30, 40, 60]
  each = "head"
"""


@pytest.fixture
def whole(folder: JobFolder) -> JobFolder:
    folder.swap("job.toml", "  length = 6.0\n", f"  length = 6.0\n{MATCH}")
    folder.swap("job.toml", "seat_width = 1.5\n", f"seat_width = 1.5\n{VALVE}")
    folder.texts["job.toml"] += REST
    return folder


def test_all_of_it_is_read(whole: JobFolder) -> None:
    job = whole.read()
    match = job.ports[0].match
    assert match is not None
    assert (match.held, match.vee_deg) == ("two heads", 90.0)
    assert match.pin_diameter_mm.tolist() == [8.0, 8.0]
    assert match.gasket is not None
    assert match.gasket.hole_diameter_mm.tolist() == [8.4, 9.0]
    assert match.manifold is not None
    assert np.isnan(match.manifold.hole_diameter_mm).all()
    # seen from the head, left and right swap: the holes and the opening are turned over
    assert match.manifold.holes_mm.tolist() == [[-40.0, 1.0], [40.0, 0.0]]
    assert match.manifold.outline.area_mm2 == pytest.approx(38.0 * 38.0 + 38.0 * 2.0 / 2.0)
    assert job.ports[1].match is None
    valve = job.valves[0]
    assert valve.seat is not None
    assert [(c.angle_deg, c.width_mm) for c in valve.seat.cuts] == [(30.0, 1.0), (45.0, 1.5), (60.0, 2.0)]
    assert (valve.seat.insert_diameter_mm, valve.seat.depth_mm) == (55.0, 0.8)
    assert valve.guide is not None
    assert (valve.guide.inner_diameter_mm, valve.guide.boss_length_mm) == (8.04, 52.0)
    assert (valve.limits.throat_low_percent, valve.limits.runout_mm) == (87.0, None)
    assert job.receipt is not None
    assert (job.receipt.head, job.receipt.crack_test, job.receipt.face_flatness_mm) == ("left, 3 | 17", "", None)
    assert (job.receipt.earlier_work, job.receipt.wanted) == (("one guide new",), ("opened for the street",))
    assert [(o.port, o.where, o.sealed, o.tested) for o in job.opened] == [("2", "bolt hole", "sleeve", "")]
    assert job.milling is not None
    assert (job.milling.deck_mm, job.milling.intake_face_mm) == (0.5, 0.0)
    assert job.chamber is not None
    assert (job.chamber.poured_cc, job.chamber.piston_cc, job.chamber.exhaust_mm) == (64.0, -2.0, None)
    assert job.quote is not None
    rate, finish = job.quote.metal_cc_per_min, job.quote.finish_cm2_per_min
    assert rate is not None
    assert finish is not None
    assert (rate.low, rate.likely, rate.high) == (0.2, pytest.approx(0.35), 0.5)
    assert (finish.low, finish.likely, finish.high) == (3.0, 4.0, 8.0)
    assert [(f.name, f.minutes.low, f.minutes.high, f.each) for f in job.quote.fixed] == [
        ("mark out", 20.0, 20.0, "port"),
        ("wash", 30.0, 60.0, "head"),
    ]


def test_an_opening_may_be_a_drawing(whole: JobFolder) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
    whole.texts["gasket.svg"] = f'{svg}<path d="M10 5 H50 V55 H10 Z"/></svg>'
    whole.swap("job.toml", 'outline = "traces/a.csv"\n    holes', 'outline = "gasket.svg"\n    holes')
    match = whole.read().ports[0].match
    assert match is not None
    assert match.gasket is not None
    assert match.gasket.outline.area_mm2 == pytest.approx(40.0 * 50.0)


def test_a_job_without_any_of_it_holds_none_of_it(folder: JobFolder) -> None:
    job = folder.read()
    assert (job.receipt, job.opened, job.milling, job.chamber, job.quote) == (None, (), None, None, None)
    assert (job.valves[0].seat, job.valves[0].guide, job.ports[0].match) == (None, None, None)


def test_inches_become_millimetres(whole: JobFolder) -> None:
    whole.swap("job.toml", 'units = "mm"', 'units = "in"')
    whole.swap("job.toml", "[60.0, 1660.0]]", "[2.0, 1660.0]]")
    job = whole.read()
    assert job.milling is not None
    assert job.milling.deck_mm == pytest.approx(0.5 * 25.4)
    assert job.ports[0].match is not None
    assert job.ports[0].match.holes_mm[1, 0] == pytest.approx(40.0 * 25.4)
    assert job.valves[0].seat is not None
    assert job.valves[0].seat.cuts[0].width_mm == pytest.approx(25.4)
    assert job.valves[0].seat.cuts[0].angle_deg == 30.0


# fmt: off
SPOILT = [
    ("one hole places nothing", "holes = [[-40.0, 0.0], [40.0, 0.0]]\n  pin", "holes = [[-40.0, 0.0]]\n  pin",
     "port '1' match: holes", "from 2 to 40 rows of [across, up]"),
    ("two holes at one place", "holes = [[-40.0, 0.0], [40.0, 0.0]]\n  pin", "holes = [[4.0, 0], [4.0, 0]]\n  pin",
     "port '1' match: holes row 2", "is where another hole is"),
    ("holes that the head has not", "holes = [[40.0, 1.0], [-40.0, 0.0]]", "holes = [[4, 1], [-4, 0], [0, 0]]",
     "port '1' match manifold: holes", "places 3 holes where the head has 2"),
    ("a hole under its pin", "[8.4, 9.0]", "[8.4, 7.9]",
     "port '1' match gasket: hole_diameter", "hole 2 is smaller than its pin"),
    ("sizes that do not tally", "[8.4, 9.0]", "[8.4, 9.0, 9.0]",
     "port '1' match gasket: hole_diameter", "gives 3 sizes for 2 holes"),
    ("an outline that is not there", 'outline = "traces/b.csv"\n    from', 'outline = "traces/c.csv"\n    from',
     "port '1' match manifold: outline", "is not in the job folder"),
    ("a vee without its angle", "  vee_angle = 90.0\n", "",
     "port '1' match: vee_angle", "give the angle between the banks"),
    ("an angle without a vee", '"two heads"', '"one head"',
     "port '1' match: vee_angle", "means nothing"),
    ("cuts that do not steepen", "[60.0, 2.0]", "[40.0, 2.0]",
     "valve number 1 seat: cuts row 3", "is no steeper than the cut before"),
    ("cuts without the seat", "[45.0, 1.5]", "[46.0, 1.5]",
     "valve number 1 seat: cuts", "holds no cut of 45 degrees"),
    ("contact beyond the valve", "contact_diameter = 50.0", "contact_diameter = 52.5",
     "valve number 1 seat: contact_diameter", "no smaller than the valve's head"),
    ("contact within the throat", "contact_diameter = 50.0", "contact_diameter = 45.0",
     "valve number 1 seat: contact_diameter", "no larger than the throat"),
    ("insert within the throat", "insert_diameter = 55.0", "insert_diameter = 45.0",
     "valve number 1 seat: insert_diameter", "no larger than the throat"),
    ("a stem that does not go in", "inner_diameter = 8.04", "inner_diameter = 8.0",
     "valve number 1 guide: inner_diameter", "no larger than the stem"),
    ("a guide without a wall", "outer_diameter = 13.0", "outer_diameter = 8.0",
     "valve number 1 guide: outer_diameter", "no larger than the inner"),
    ("a boss within the guide", "boss_diameter = 19.0", "boss_diameter = 12.0",
     "valve number 1 guide: boss_diameter", "no larger than the guide"),
    ("limits the wrong way round", "throat_high_percent = 90.0", "throat_high_percent = 86.0",
     "valve number 1 limits: throat_high_percent", "is not above throat_low_percent"),
    ("opened in no port", 'port = "2"\nwhere', 'port = "4"\nwhere',
     "opened number 1: port", '"4" is not the name of a [[port]]'),
    ("lines that are numbers", '["one guide new"]', "[3]",
     "receipt: earlier_work item 1", "3 is not text"),
    ("a range that falls", "[3.0, 4.0, 8.0]", "[3.0, 2.0, 8.0]",
     "quote: finish_cm2_per_min", "does not rise"),
    ("a range of four", "[3.0, 4.0, 8.0]", "[1, 2, 3, 4]",
     "quote: finish_cm2_per_min", "[least, likely, most]"),
    ("a rate of nothing", "[0.2, 0.5]", "[0.0, 0.5]",
     "quote: metal_cc_per_min least", "out of range"),
    ("a price in nothing", 'currency = "crowns"\n', "",
     "quote: currency", "say what the hourly rate is in"),
    ("milling upwards", "deck = 0.5", "deck = -0.5",
     "milling: deck", "of at least 0"),
    ("a gasket within the bore", "bore = 100.0", "bore = 100.0\ngasket_bore = 99.0",
     "chamber: gasket_bore", "smaller than the bore"),
    ("a place of three", "[-20.0, 1.0]", "[-20.0, 1.0, 2.0]",
     "chamber: intake_valve", "give [across, up]"),
    ("a key misspelt", "piston_cc", "pistoncc",
     "chamber: pistoncc", 'nearest known key is "piston_cc"'),
]
# fmt: on


@pytest.mark.parametrize(("old", "new", "field", "words"), [s[1:] for s in SPOILT], ids=[s[0] for s in SPOILT])
def test_a_fault_is_told_with_its_place_and_mend(whole: JobFolder, old: str, new: str, field: str, words: str) -> None:
    whole.swap("job.toml", old, new)
    faults = whole.faults()
    here = [f for f in faults if (f.file, f.field) == ("job.toml", field)]
    assert here, [(f.file, f.row, f.field, f.found) for f in faults]
    assert here[0].row is not None
    assert words in f"{here[0].found}; {here[0].mend}"
