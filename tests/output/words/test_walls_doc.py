"""Walls in words and in numbers: place three ways, wall by name, what to do next."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Hazard, Job, Port, SectionTable, Stage, StationRow, WallReading
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.shown import Shown
from portgeom.output.words.walls_doc import walls_json, walls_text
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import Walls, walls

BOX = rectangle(40.0, 30.0, CornerRadii(8.0, 8.0, 8.0, 8.0))


def hole(x: float, y: float, z: float, **more) -> Hazard:
    """An upright hole of 12 mm from z up."""
    ends = {"start_mm": np.array([x, y, z]), "end_mm": np.array([x, y, 60.0])}
    return Hazard("bolt hole", "cylinder", diameter_mm=12.0, **ends, **more)


def asked(*hazards: Hazard, min_wall: float | None = 3.0) -> tuple[LoftedPort, Walls]:
    rows = tuple(StationRow(str(k), k, s, 0.0, 0.0, None, None, "", BOX) for k, s in ((1, 0.0), (2, 80.0)))
    port = Port("1", "intake", (Stage("as cast", SectionTable("c.csv", rows)),), right_wall="pushrod wall")
    job = Job(Path(), "t", "mm", "grey iron", 7.2, (port,), hazards=hazards, min_wall_mm=min_wall)
    (lofted,) = loft_job(job)
    return lofted, walls(lofted, lofted.cast.surface, "as cast", behind(job, lofted))


def text(*hazards: Hazard, units="mm", **options) -> str:
    port, result = asked(*hazards, **options)
    return walls_text(port, port.cast, (result,), Shown(units))


def test_a_thin_wall_is_told_with_place_wall_and_what_to_do() -> None:
    said = text(hole(26.0 + 1.7, 41.0, -40.0))
    assert "bolt hole: 1.7 mm left at 41.0 mm (41.0 square from the face, 41.0 along the roof)" in said
    assert "o'clock, pushrod wall. Thin over" in said
    assert "1.3 mm under the limit: so it is now, take nothing off there." in said


def test_a_wall_that_the_cut_makes_thin_says_how_much_sooner_to_stop() -> None:
    port, now = asked(hole(0.0, 41.0, 18.6))
    chart = port.chart
    deeper = port.cast.surface.rho_mm.copy()
    deeper[:, chart.rays.up] += 2.0
    after = walls(port, replace(port.cast.surface, rho_mm=deeper), "target", tuple(w.behind for w in now.walls))
    said = walls_text(port, port.cast, (now, after), Shown("mm"))
    assert "1.4 mm under the limit: stop 1.4 mm sooner at the roof there" in said
    assert "Enough: 0.6 mm over the limit of 3.0 mm." in said


def test_an_opened_hole_says_how_to_go_on_and_one_that_may_be_opened_what_to_seal() -> None:
    assert "Not allowed: so it is now, take nothing off there; or plan to seal it and say open_allowed = true" in text(
        hole(0.0, 41.0, 10.0)
    )
    assert "It may be opened, 113 mm2 to seal." in text(hole(0.0, 41.0, 10.0, open_allowed=True))


@pytest.mark.parametrize(("wall", "word"), [(2.0, "thin"), (4.5, "enough"), (-2.0, "open")])
def test_the_table_ends_in_the_verdict(wall: float, word: str) -> None:
    (row,) = [x for x in text(hole(0.0, 41.0, 15.0 + wall)).splitlines() if x.startswith("  bolt hole  ")]
    assert row.split()[-1] == word
    assert row.split()[4] == f"{wall:.1f}"


def test_inches_are_shown_to_the_thousandth() -> None:
    assert "bolt hole: 0.100 in left at" in text(hole(0.0, 41.0, 15.0 + 2.54), units="in")


def test_a_port_with_nothing_behind_it_says_how_to_name_what_is() -> None:
    assert "Add a [[hazard]]" in text()


def test_a_wall_without_limit_asks_for_one() -> None:
    assert "Give min_wall in the job to have it judged." in text(hole(0.0, 41.0, 20.0), min_wall=None)


def test_readings_say_how_far_the_nearest_one_is() -> None:
    gauge = Hazard("gauge", "readings", file="g.csv", readings=(WallReading(30.0, 90.0, 7.5),))
    said = text(gauge)
    assert "gauge: 7.5 mm left at" in said
    assert "the nearest reading" in said


def test_the_document_holds_the_agreed_keys_in_order_and_numbers_in_the_jobs_units() -> None:
    _, result = asked(hole(0.0, 41.0, 15.0 + 2.54))
    (entry,) = walls_json((result,), Numbers("in"))["walls"]
    assert list(entry)[:6] == ["hazard", "stage", "least", "thin_area", "open_area", "verdict"]
    assert list(entry["least"]) == ["distance", "clock", "wall"]
    assert entry["least"]["wall"] == pytest.approx(0.1, abs=1e-6)
    assert entry["thin_area"] == pytest.approx(result.walls[0].thin_area_mm2 / 25.4**2, abs=1e-6)
    assert (entry["hazard"], entry["stage"], entry["verdict"]) == ("bolt hole", "as cast", "thin")


def test_what_cannot_be_known_is_null_in_the_document() -> None:
    _, result = asked(hole(0.0, 41.0, 20.0), min_wall=None)
    (entry,) = walls_json((result,), Numbers("mm"))["walls"]
    assert entry["thin_area"] is None
    assert entry["open_area"] == 0.0


def test_warnings_are_in_the_document_with_their_stretch() -> None:
    _, result = asked(hole(0.0, 41.0, 10.0))
    (warning,) = walls_json((result,), Numbers("mm"))["warnings"]
    assert (warning["kind"], warning["hazard"]) == ("interrupted cut", "bolt hole")
    assert (warning["from"], warning["to"]) == pytest.approx((35.0, 47.0), abs=0.5)
