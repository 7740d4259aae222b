"""A patch cut too far is found, placed and sized; what was cast past the line is told apart; specks are no patches."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.job.values import Accuracy, Job, Line, SectionTable, Target
from portgeom.model.lofted import loft_job
from portgeom.questions.compare.overcut import Overcut, Patch, overcut
from portgeom.questions.whole import wanted_of

WIDTH, HEIGHT, LENGTH = 40.0, 44.0, 100.0
ROOF_LINE = Target("line", roof=Line(np.array([[0.0, 22.5], [LENGTH, 22.5]])))  # half a millimetre over the casting
EDGE = 0.05  # a step in a wall runs over two stations so far apart
STEPS = tuple(float(x) for x in (45.0 - EDGE, 45.0 + EDGE, 55.0 - EDGE, 55.0 + EDGE))
STATIONS = (0.0, 25.0, *STEPS, 75.0, LENGTH)


def dented(side: str, deep_mm: float, *, half_mm: float = 5.0, at_mm: float = 0.0) -> Outline:
    """Return the finished duct with a flat pocket of square edges in one side."""
    top, low, wide = HEIGHT / 2 + 0.5, -HEIGHT / 2, WIDTH / 2
    box = np.array([[wide, low], [wide, top], [-wide, top], [-wide, low]])
    first, last = at_mm - half_mm, at_mm + half_mm
    pocket = {
        "right": [[wide, first], [wide + deep_mm, first], [wide + deep_mm, last], [wide, last]],
        "roof": [[last, top], [last, top + deep_mm], [first, top + deep_mm], [first, top]],
        "floor": [[first, low], [first, low - deep_mm], [last, low - deep_mm], [last, low]],
    }[side]
    place = {"right": 1, "roof": 2, "floor": 4}[side]
    return Outline.polygon(np.insert(box, place, pocket, axis=0))


def square(height_mm: float, up_mm: float) -> Outline:
    top, low, wide = up_mm + height_mm / 2, up_mm - height_mm / 2, WIDTH / 2
    return Outline.polygon(np.array([[wide, low], [wide, top], [-wide, top], [-wide, low]]))


CAST = square(HEIGHT, 0.0)
FINISHED = square(HEIGHT + 0.5, 0.25)


@pytest.fixture
def found(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., Overcut]:
    """Return what is past the line of a duct whose stations between the steps have another outline."""

    def of(patch: Outline, *, cast: Outline = CAST, limit_mm: float = 0.2, finished: Outline = FINISHED) -> Overcut:
        inside = [STEPS[0] < s < STEPS[3] for s in STATIONS]
        later = [patch if dent else finished for dent in inside]
        job = job_of(table_of(STATIONS, [cast] * len(STATIONS)), table_of(STATIONS, later), target=ROOF_LINE)
        ports = loft_job(job)
        (port,) = ports
        return overcut(port, port.stage(None), wanted_of(job, ports, port), limit_mm=limit_mm)

    return of


@pytest.mark.parametrize(
    ("side", "clock"), [("right", 90.0), ("roof", 0.0), ("floor", 180.0)], ids=["wall", "roof", "floor"]
)
def test_a_patch_of_3_tenths_and_10_by_10_mm_is_placed_within_1_mm_and_sized_within_10_percent(
    found: Callable[..., Overcut], side: str, clock: float
) -> None:
    (patch,) = found(dented(side, 0.3)).cut
    assert patch.distance_mm == pytest.approx(50.0, abs=1.0)
    # a millimetre on the wall, 20 mm from the middle
    assert (patch.clock_deg - clock + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=np.degrees(1.0 / 20.0))
    assert patch.deepest_mm == pytest.approx(0.3, rel=0.1)
    assert patch.mean_mm == pytest.approx(0.3, rel=0.1)
    assert patch.area_mm2 == pytest.approx(10.0 * 10.0, rel=0.1)
    assert patch.volume_mm3 == pytest.approx(0.3 * 10.0 * 10.0, rel=0.1)
    assert patch.to_mm - patch.from_mm == pytest.approx(10.0, rel=0.1)
    assert patch.around_mm == pytest.approx(10.0, rel=0.1)


def test_a_patch_off_the_middle_is_placed_within_1_mm(found: Callable[..., Overcut]) -> None:
    (patch,) = found(dented("right", 0.3, at_mm=8.0)).cut
    middle_up = 20.3 / np.tan(np.radians(patch.clock_deg))  # clockwise from straight up, about the middle of the cast
    assert middle_up == pytest.approx(8.0, abs=1.0)
    assert patch.distance_mm == pytest.approx(50.0, abs=1.0)


def test_what_is_below_the_limit_is_no_overcut(found: Callable[..., Overcut]) -> None:
    assert found(dented("right", 0.3), limit_mm=0.31).cut == ()
    assert found(dented("right", 0.15)).cut == ()


def test_a_finished_port_on_its_line_has_none(found: Callable[..., Overcut]) -> None:
    assert found(FINISHED) == Overcut((), (), 0.0, 0.2)


def test_what_was_cast_past_the_line_is_not_cut_too_far(found: Callable[..., Overcut]) -> None:
    """Cast half a millimetre above its line at every station, and nothing cut since."""
    high = square(HEIGHT + 1.0, 0.5)
    result = found(high, cast=high, finished=high)
    assert result.cut == ()
    # the wanted roof is the casting's own moved down, so the whole roof is past it
    (patch,) = result.as_cast
    assert patch.mean_mm == pytest.approx(0.5, rel=0.01)
    assert patch.to_mm - patch.from_mm == pytest.approx(LENGTH, rel=0.01)


def test_a_speck_is_no_patch(found: Callable[..., Overcut]) -> None:
    """A scratch 0.6 mm wide: no cutter leaves one."""
    assert found(dented("right", 0.6, half_mm=0.3)).cut == ()


def test_the_casting_itself_is_never_cut_too_far(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    job = job_of(table_of(STATIONS, [square(HEIGHT + 1.0, 0.5)] * len(STATIONS)), target=ROOF_LINE)
    ports = loft_job(job)
    assert overcut(ports[0], ports[0].cast, wanted_of(job, ports, ports[0]), limit_mm=0.2).cut == ()


def test_a_patch_within_what_readings_may_be_off_by_says_so(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    """Seen in two traced stations: 0.3 mm against 0.2 / sqrt 2, and against a tool that is off by 0.25 besides."""
    later = [dented("right", 0.3) if STEPS[0] < s < STEPS[3] else FINISHED for s in STATIONS]
    job = job_of(table_of(STATIONS, [CAST] * len(STATIONS)), table_of(STATIONS, later), target=ROOF_LINE)
    ports = loft_job(job)
    wanted = wanted_of(job, ports, ports[0])

    def asked(accuracy: Accuracy) -> Patch:
        (patch,) = overcut(ports[0], ports[0].stage(None), wanted, limit_mm=0.2, accuracy=accuracy).cut
        return patch

    good = asked(Accuracy(trace_mm=0.2, tool_bias_mm=0.0))
    assert good.standard_mm == pytest.approx(0.2 / np.sqrt(2.0))
    assert good.clear
    poor = asked(Accuracy(trace_mm=0.2, tool_bias_mm=0.25))
    assert poor.standard_mm == pytest.approx(np.hypot(0.2 / np.sqrt(2.0), 0.25))
    assert not poor.clear
