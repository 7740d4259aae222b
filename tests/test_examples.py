"""The bundled job: its tables made again by their script, and figures a port worker would believe."""

from __future__ import annotations

import subprocess
import sys
from math import pi
from pathlib import Path

import numpy as np
import pytest
import shapely

from portgeom.job.read import read_job
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.wanted import Wanted, wanted_port
from portgeom.questions.shape.profile import profile
from portgeom.questions.shape.removal import Removal, removal
from portgeom.questions.shape.roof import Roof, roof

EXAMPLES = Path(__file__).parents[1] / "examples"
PAIR = EXAMPLES / "workshop-pair"


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(PAIR)


@pytest.fixture(scope="module")
def ports(job: Job) -> dict[str, LoftedPort]:
    return {lofted.port.name: lofted for lofted in loft_job(job)}


def wanted_of(job: Job, port: LoftedPort) -> Wanted:
    return wanted_port(port, job.targets[0], limits=job.limits)


def roof_of(job: Job, port: LoftedPort) -> Roof:
    return roof(port, port.cast, wanted_of(job, port), job.limits)


def removal_of(job: Job, port: LoftedPort) -> Removal:
    return removal(port, port.cast, wanted_of(job, port), density_g_cc=job.density_g_cc)


@pytest.mark.parametrize(
    ("script", "folder"), [("make_workshop_pair.py", "workshop-pair"), ("make_workshop_stages.py", "workshop-stages")]
)
def test_its_script_makes_the_same_tables_again(script: str, folder: str, tmp_path: Path) -> None:
    subprocess.run([sys.executable, EXAMPLES / script, tmp_path], check=True)
    again = {p.relative_to(tmp_path): p.read_text("utf-8") for p in tmp_path.rglob("*.csv")}
    kept = {p.relative_to(EXAMPLES / folder): p.read_text("utf-8") for p in (EXAMPLES / folder).rglob("*.csv")}
    assert again == kept


# The figures below are common practice for such a port, without a source: what a worker would believe.


@pytest.mark.parametrize(
    ("place", "cast_mm2", "finished_mm2"),
    [("face", 1967.0, 2020.0), ("pinch", 1520.0, 1655.0), ("turn", 1690.0, 1850.0), ("bowl", 1885.0, 1950.0)],
)
def test_the_boss_port_has_believable_areas_as_cast_and_finished(
    job: Job, ports: dict[str, LoftedPort], place: str, cast_mm2: float, finished_mm2: float
) -> None:
    port = ports["2"]
    number = [row.place for row in port.cast.stage.sections.rows].index(place)
    slab = port.cast.slab[number]
    assert port.cast.surface.area_mm2[slab] == pytest.approx(cast_mm2, rel=0.01)
    assert removal_of(job, port).after.area_mm2[slab] == pytest.approx(finished_mm2, rel=0.01)


@pytest.mark.parametrize("name", ["1", "2"])
def test_the_throat_is_88_percent_of_the_valve(job: Job, ports: dict[str, LoftedPort], name: str) -> None:
    area = ports[name].cast.stage.sections.rows[-1].outline.area_mm2
    assert np.sqrt(4.0 * area / pi) / job.valves[0].head_diameter_mm == pytest.approx(46.0 / 52.0, rel=1e-3)


@pytest.mark.parametrize("name", ["1", "2"])
def test_each_port_is_about_120_mm_long_and_holds_205_to_220_cc(
    job: Job, ports: dict[str, LoftedPort], name: str
) -> None:
    found = profile(ports[name], ports[name].cast, job.limits)
    assert found.length_mm == pytest.approx(120.0, abs=3.0)
    assert 205.0 < found.volume_mm3 / 1000.0 < 220.0


def test_a_pourer_would_agree_with_the_volumes(ports: dict[str, LoftedPort]) -> None:
    for port in ports.values():
        poured = port.cast.stage.poured_cc
        assert poured == pytest.approx(float(port.cast.surface.volume_mm3.sum()) / 1000.0, rel=0.005)


def test_the_boss_makes_one_bulge_and_the_sibling_has_none(job: Job, ports: dict[str, LoftedPort]) -> None:
    assert roof_of(job, ports["1"]).bulges == ()
    (bulge,) = roof_of(job, ports["2"]).bulges
    # as the script makes it: 5.6 mm high at 42 mm, feet of 23.2 by 29 mm
    assert bulge.stands_out_mm == pytest.approx(5.6, abs=0.2)
    assert bulge.peak.distance_mm == pytest.approx(42.0, abs=1.0)
    assert 18.0 < bulge.across_to_mm - bulge.across_from_mm < 23.2
    assert 24.0 < bulge.to_mm - bulge.from_mm < 31.0
    assert bulge.stations_seen >= 4


def test_about_6_mm_come_off_the_roof_under_the_boss(job: Job, ports: dict[str, LoftedPort]) -> None:
    peak = roof_of(job, ports["2"]).peak
    assert peak.proud_mm == pytest.approx(6.0, abs=0.3)
    assert peak.distance_mm == pytest.approx(42.0, abs=2.0)


def test_13_to_16_cc_come_off_the_boss_port(job: Job, ports: dict[str, LoftedPort]) -> None:
    assert 13.0 < removal_of(job, ports["2"]).volume_mm3 / 1000.0 < 16.0


def test_the_boss_is_the_only_neck_as_cast(job: Job, ports: dict[str, LoftedPort]) -> None:
    (neck,) = profile(ports["2"], ports["2"].cast, job.limits).taper.necks
    assert neck.distance_mm == pytest.approx(42.0, abs=1.0)


def test_both_ports_end_within_one_percent_of_each_other(job: Job, ports: dict[str, LoftedPort]) -> None:
    one, two = (removal_of(job, ports[name]).volume_after_mm3 for name in ("1", "2"))
    assert one == pytest.approx(two, rel=0.01)


def test_the_path_steps_a_few_mm_aside_and_back_in_the_boss_port_alone(ports: dict[str, LoftedPort]) -> None:
    aside = {name: np.ptp(port.chart.planes.origin_mm[:, 0]) for name, port in ports.items()}
    assert aside["1"] == pytest.approx(0.0, abs=1e-9)
    assert 2.0 < aside["2"] < 4.0


def test_only_the_bolt_hole_comes_nearer_than_3_mm(job: Job, ports: dict[str, LoftedPort]) -> None:
    for name, port in ports.items():
        after = removal_of(job, port).after
        points = port.chart.planes.world_mm(after.points_mm).reshape(-1, 3)
        for hazard in (h for h in job.hazards if h.shape == "cylinder" and name in h.ports):
            least = float(to_cylinder(points, hazard.start_mm, hazard.end_mm, hazard.diameter_mm).min())
            if hazard.name == "bolt hole":
                assert 0.5 < least < 3.0
            else:
                assert least >= 3.0, hazard.name


def to_cylinder(points: np.ndarray, start: np.ndarray, end: np.ndarray, diameter: float) -> np.ndarray:
    """Return the distance of points (k, 3) outside a solid cylinder from it, by plane geometry."""
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length
    along = (points - start) @ axis
    beside = np.linalg.norm(points - start - along[:, None] * axis, axis=1)
    outline = shapely.box(0.0, 0.0, length, 0.5 * diameter)
    return shapely.distance(shapely.points(along, beside), outline)
