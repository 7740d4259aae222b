"""What cutters leave and take, against handbook and published numbers that nobody in this project worked out.

Sources: Machinery's Handbook, 31st ed., Industrial Press, 2020, pp. 50-51, 79, 91 (circular segments, spherical
segment); scallop heights as published by two step-over calculators, whose formula is r - sqrt(r^2 - (s/2)^2); a
circular segment published with eight digits; area of the lens of two unit circles one apart, 1.22837.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import acos, pi, sqrt

import numpy as np
import pytest

from portgeom.geometry.cutter import CutterBody
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import CutPass, Cutter, Line, Target
from portgeom.model.lofted import loft_job
from portgeom.model.wanted import wanted_port
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.passes import passes
from portgeom.questions.cutting.rows import groove_width_mm

SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
IN_CM = 10.0


@pytest.fixture
def grooved(table_of: Callable, job_of: Callable) -> Callable[..., PassResult]:
    """Cut grooves into the flat roof of a straight box, 4 radii wide at least."""

    def cut(radius: float, depth: float, *across: float, run: tuple[float, float] = (60.0, 100.0)) -> PassResult:
        box = rectangle(max(40.0, 4.0 * radius), max(30.0, 3.0 * radius), SHARP)
        target = Target("far", roof=Line(np.array([(0.0, box.height_mm), (160.0, box.height_mm)])))
        ball = Cutter("ball", "ball", 2.0 * radius, 2.0 * radius, 6.0, 200.0)
        one = CutPass("g", "grooves", "roof", "ball", None, across, *run, depth_mm=depth, leave_mm=0.01)
        job = job_of(table_of(np.linspace(0.0, 160.0, 9), [box] * 9), target=target)
        port = loft_job(job)[0]
        job = replace(job, cutters=(ball,), passes=(one,))
        return passes(job, port, port.cast, wanted_port(port, target, limits=job.limits)).results[0]

    return cut


def section_mm2(result: PassResult) -> float:
    k = result.after.chart.slab_at(80.0)
    return float(result.after.area_mm2[k] - result.before.area_mm2[k])


def test_groove_of_radius_12_cm_sunk_2_cm_is_18_01_cm2_and_13_27_cm_wide(grooved: Callable) -> None:
    """Machinery's Handbook, pp. 50-51: R = 12 cm, depth 2 cm: chord 13.27 cm, area 18.01 cm2."""
    result = grooved(12.0 * IN_CM, 2.0 * IN_CM, 0.0)
    assert section_mm2(result) / IN_CM**2 == pytest.approx(18.01, abs=0.01 + 0.002 * 18.01)
    assert float(groove_width_mm(120.0, np.array(20.0))) / IN_CM == pytest.approx(13.27, abs=0.005)


def test_segment_of_chord_21_and_height_6_is_89_254148(grooved: Callable) -> None:
    """A published segment: chord 21, height 6 have R = 12.1875 and area 89.254148."""
    result = grooved(12.1875, 6.0, 0.0)
    assert float(groove_width_mm(12.1875, np.array(6.0))) == pytest.approx(21.0, abs=1e-12)
    assert section_mm2(result) == pytest.approx(89.254148, rel=0.005)


def test_chord_16_and_height_6_have_a_radius_of_8_and_a_third() -> None:
    """Machinery's Handbook, p. 79, exact."""
    assert float(groove_width_mm(25.0 / 3.0, np.array(6.0))) == pytest.approx(16.0, abs=1e-12)


def test_ball_that_only_dips_in_takes_a_spherical_segment(grooved: Callable) -> None:
    """Machinery's Handbook, p. 91: height 50 mm on a chord of 125 mm is 372,247 mm3; here a tenth of that size."""
    radius = (6.25**2 + 5.0**2) / (2.0 * 5.0)  # printed as 64 mm for the full size
    assert 10.0 * radius == pytest.approx(64.0, abs=0.5)
    result = grooved(radius, 5.0, 0.0, run=(80.0, 80.0 + 1e-6))
    assert 1000.0 * result.volume_mm3 == pytest.approx(372_247.0, rel=0.005)


@pytest.mark.parametrize(
    ("diameter", "pitch", "published", "tol"),
    [
        (6.0, 0.5, 0.01043, 1e-5),
        (6.0, 0.346, 0.005, 1e-5),
        (0.5 * 25.4, 0.05 * 25.4, 0.001253 * 25.4, 0.5e-6 * 25.4),  # 31.8 micrometres
    ],
)
def test_cusp_between_two_grooves_is_the_published_scallop(
    grooved: Callable, diameter: float, pitch: float, published: float, tol: float
) -> None:
    result = grooved(0.5 * diameter, 0.2 * diameter, -0.5 * pitch, 0.5 * pitch)
    assert result.rib.height_mm == pytest.approx(published, abs=tol)
    # the exact form, not the parabola s^2 / 8r, which is 0.17 percent low here
    assert result.rib.height_mm > pitch**2 / (4.0 * diameter) * 1.0001


def test_two_grooves_share_the_lens_of_two_circles(grooved: Callable) -> None:
    """Two circles of radius 1, 1 apart, share 1.22837; sunk to their middles they share half of it."""
    both = section_mm2(grooved(10.0, 10.0, -5.0, 5.0))
    assert 2.0 * (pi * 10.0**2 / 2.0) - both == pytest.approx(0.5 * 1.22837 * 100.0, rel=0.01)


def test_ball_of_the_published_segment_is_the_sphere_of_its_own_volume() -> None:
    ball = CutterBody("ball", 128.125, 200.0, 6.0, 200.0)
    z = 50.0 * (np.arange(100_000) + 0.5) / 100_000
    assert float((pi * ball.radius_at_mm(z) ** 2).sum()) * 5e-4 == pytest.approx(372_246.0, abs=1.0)


def test_segment_by_formula_is_the_librarys() -> None:
    """fluids: a circle of 24 filled to 2 has 18.006222450721737."""
    fluids = pytest.importorskip("fluids")
    area = 12.0**2 * acos(10.0 / 12.0) - 10.0 * sqrt(2.0 * 12.0 * 2.0 - 2.0**2)
    assert fluids.A_partial_circle(D=24.0, h=2.0) == pytest.approx(area, rel=1e-12)
