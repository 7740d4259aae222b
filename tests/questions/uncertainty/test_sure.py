"""What is told beside the intervals: which reading to take again, ties, and what lies between stations."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.read import read_job
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.campaign import campaign
from portgeom.questions.uncertainty.sure import StageSure, stage_sure

EXAMPLE = Path(__file__).parents[3] / "examples" / "workshop-pair"
EXACT = dict.fromkeys(("gauge_mm", "tool_bias_mm", "trace_mm", "distance_mm", "pitch_deg", "pour_cc"), 0.0)


def round_port(diameters: list[float], *, sd: dict[int, float] | None = None, step: float = 12.0) -> Port:
    rows = []
    for k, diameter in enumerate(diameters):
        readings = ShapeReadings("circle", ("width",), np.array([diameter]))
        own = (sd or {}).get(k)
        rows.append(StationRow(f"s{k}", k + 2, step * k, None, None, None, None, "", readings.outline(), readings, own))
    return Port("1", "intake", (Stage("as cast", SectionTable("made.csv", tuple(rows))),))


def asked(port: Port, **accuracy: float) -> StageSure:
    job = Job(Path("."), "made", "mm", "grey iron", 7.2, (port,), accuracy=Accuracy(**{**EXACT, **accuracy}))
    (lofted,) = loft_job(job)
    return stage_sure(job, [lofted], lofted, lofted.cast, draws=400, ranked=True)


def test_the_reading_with_the_largest_error_contributes_most() -> None:
    sure = asked(round_port([40.0] * 7, sd={3: 0.5}), gauge_mm=0.1)
    most = sure.volume_mm3.most[0]
    assert (most.reading.what, most.reading.station) == ("width", "s3")
    # six readings of 0.1 mm, the outer two for half a length, beside one of 0.5 mm: 0.25 to 0.25 + 4.5 x 0.01
    assert most.share == pytest.approx(0.25 / (0.25 + 4.5 * 0.01), abs=0.03)


def test_the_last_distance_decides_the_volume_where_only_distances_err() -> None:
    sure = asked(round_port([40.0] * 7), distance_mm=0.5)
    (only,) = sure.volume_mm3.most[:1]
    assert (only.reading.what, only.reading.station) == ("distance", "s6")
    assert only.share == pytest.approx(1.0, abs=1e-6)


def test_a_tool_that_is_off_is_named_as_the_tool() -> None:
    most = asked(round_port([40.0] * 7), tool_bias_mm=0.1).volume_mm3.most[0]
    assert most.reading.shared
    assert most.reading.what == "gauge"


def test_a_place_as_narrow_as_the_narrowest_ties_with_it() -> None:
    sure = asked(round_port([40.0, 36.0, 40.0, 36.0, 40.0]), gauge_mm=0.1)
    (tie,) = sure.ties
    assert sorted([tie.distance_mm, 12.0 if tie.distance_mm == 36.0 else 36.0]) == [12.0, 36.0]
    assert tie.smaller_share == pytest.approx(0.5, abs=0.1)
    assert sure.smallest_mm2.spread.interval.kind == "basic"


def test_a_narrowest_place_that_stands_clear_has_no_tie() -> None:
    assert asked(round_port([40.0, 36.0, 40.0, 38.0, 40.0]), gauge_mm=0.1).ties == ()


def test_between_stations_a_cone_strays_less_the_closer_they_are() -> None:
    def strays(count: int) -> float:
        bend = [40.0 - 4.0 * math.sin(math.pi * k / (count - 1)) for k in range(count)]
        return asked(round_port(bend, step=96.0 / (count - 1))).volume_mm3.between_sd

    assert strays(5) > 4.0 * strays(9) > 16.0 * strays(17) > 0.0


def test_two_stations_leave_nothing_out() -> None:
    assert asked(round_port([40.0, 30.0])).volume_mm3.between_sd == 0.0


def test_the_band_is_as_wide_as_a_diameter_makes_it() -> None:
    band = asked(round_port([40.0] * 7), tool_bias_mm=0.1).band
    # an area of diameter D with a bias b changes by pi D b / 2; the interval is 2 x 1.96 b wide
    assert band.high_mm2 - band.low_mm2 == pytest.approx(math.pi * 40.0 / 2.0 * 0.1 * 2.0 * 1.96, rel=0.12)


@pytest.mark.parametrize("name", ["1", "2"])
def test_what_is_drawn_beside_volume_and_areas_changes_no_bit_of_them(name: str) -> None:
    """The comparison of ports takes draws of everything or of nothing else, and tells the same."""
    job = read_job(EXAMPLE)
    ports = loft_job(job)
    (port,) = (p for p in ports if p.port.name == name)
    alone = campaign(job, ports, draws=130, parts=()).port(name)
    beside = stage_sure(job, ports, port, port.stages[-1], draws=130, parts=("roof", "metal", "walls"), ranked=True)
    drawn = beside.drawn
    assert (drawn.port, drawn.stage_names, drawn.folded) == (alone.port, alone.stage_names, alone.folded)
    assert beside.folded == alone.folded
    for mine, its in zip(drawn.stages, alone.stages, strict=True):
        for of in ("kept", "volume_mm3", "distance_mm", "flow_area_mm2", "smallest_area_mm2", "smallest_at_mm"):
            assert np.array_equal(getattr(mine, of), getattr(its, of), equal_nan=True), of
        assert mine.walls or mine is not drawn.stages[-1]
        assert not its.walls
