"""The port wanted: nothing where the port is at its line, closed forms where it is not."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, radians
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, ellipse, obround, rectangle
from portgeom.job.faults import JobError
from portgeom.job.values import Job, Limits, Line, SectionTable, Target
from portgeom.model.lofted import loft_job
from portgeom.model.wanted import Pattern, wanted_port
from portgeom.questions.shape.removal import removal
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
Lines: TypeAlias = Callable[..., Line]
Tables: TypeAlias = Callable[..., SectionTable]
Jobs: TypeAlias = Callable[..., Job]

LENGTH = 90.0
S = np.linspace(0.0, LENGTH, 10)
BOX = rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0))


def trapezoid(low: float, high: float) -> Outline:
    half = 0.5 * np.array([low, low, high, high])
    return Outline.polygon(np.column_stack([half * (-1.0, 1.0, 1.0, -1.0), (-25.0, -25.0, 25.0, 25.0)]))


def waisted() -> Outline:
    v = np.linspace(-25.0, 25.0, 101)
    wall = 21.0 - 4.0 * np.exp(-((v / 8.0) ** 2)) - 0.01 * (v + 25.0) / 50.0
    return Outline.polygon(np.concatenate([np.column_stack([wall, v]), np.column_stack([-wall, v])[::-1]]))


CLEAN = {
    "straight walls": BOX,
    "sharp": rectangle(42.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0)),
    "walls leaning in": trapezoid(44.0, 34.0),
    "walls leaning out": trapezoid(34.0, 44.0),
    "round": circle(46.0),
    "wide corners": rectangle(42.0, 50.0, CornerRadii(20.0, 20.0, 6.0, 6.0)),
    "obround": obround(52.0, 34.0),
    "ellipse": ellipse(40.0, 52.0),
    "waisted walls": waisted(),
    "unlike corners": rectangle(42.0, 50.0, CornerRadii(15.0, 3.0, 0.0, 8.0)),
}


def at_line(line: Lines, outline: Outline, rise: float = 0.0, **more: object) -> Target:
    height = float(outline.high_mm[1]) + rise
    return Target("line", roof=line((0.0, height), (LENGTH, height)), **more)


# A port at its line


@pytest.mark.parametrize("name", CLEAN)
@pytest.mark.parametrize("pitch", [0.0, 40.0], ids=["straight", "on a bend"])
def test_a_port_at_its_line_reads_zero_and_no_bulge(ask: Ask, line: Lines, name: str, pitch: float) -> None:
    outline = CLEAN[name]
    answers = ask(S, [outline] * 10, target=at_line(line, outline), pitch_deg=np.linspace(0.0, pitch, 10))
    assert answers.removal.volume_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.removal.missing_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.removal.deepest is None
    assert answers.roof.peak.proud_mm == 0.0
    assert answers.roof.lowest.proud_mm == 0.0
    assert answers.roof.bulges == ()


@pytest.mark.parametrize("name", CLEAN)
def test_a_port_of_even_section_needs_no_line_to_read_zero(ask: Ask, name: str) -> None:
    answers = ask(S, [CLEAN[name]] * 10)
    assert answers.wanted.line_from == "bridge"
    assert answers.removal.volume_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.roof.peak.proud_mm == 0.0
    assert answers.roof.bulges == ()
    assert answers.roof.line_wanted == ()


@pytest.mark.parametrize("name", ["straight walls", "round", "wide corners"])
def test_a_changing_port_that_is_raised_by_nothing_reads_zero(ask: Ask, line: Lines, name: str) -> None:
    outline = CLEAN[name]
    outlines = [outline, *[outline.moved(0.3, 0.5)] * 4, *[outline.moved(-0.5, -0.7)] * 5]
    target = Target("none", roof_kind="roof_raise", roof=line((0.0, 0.0), (LENGTH, 0.0)))
    answers = ask(S, outlines, target=target)
    assert answers.removal.volume_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.roof.peak.proud_mm == pytest.approx(0.0, abs=1e-9)


# Raised, recut, widened, lowered, opened


@pytest.mark.parametrize("name", CLEAN)
@pytest.mark.parametrize("rise", [0.4, 3.0])
def test_a_roof_raised_takes_its_width_times_the_rise(ask: Ask, line: Lines, name: str, rise: float) -> None:
    # the whole roof moves up between walls carried on upright over the rise
    outline = CLEAN[name]
    answers = ask(S, [outline] * 10, target=at_line(line, outline, rise))
    taken = answers.removal
    width = outline.width_mm if name != "waisted walls" else 42.0 - 0.02 * 0.75
    assert taken.volume_mm3 == pytest.approx(width * rise * LENGTH, rel=1e-3)
    assert taken.by_side.roof == pytest.approx(taken.volume_mm3, rel=1e-9)
    assert taken.missing_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.roof.peak.proud_mm == pytest.approx(rise, abs=1e-9)
    assert answers.roof.lowest.proud_mm == pytest.approx(rise, abs=1e-9)


@pytest.mark.parametrize("turn", [60.0, 85.0])
@pytest.mark.parametrize("kind", ["pitch_deg", "yaw_deg"])
def test_a_roof_raised_on_a_bend_takes_pappus_of_the_strip(ask: Ask, line: Lines, turn: float, kind: str) -> None:
    radius, rise = 60.0, 2.5
    s = radius * np.radians(np.linspace(0.0, turn, 11))
    sharp = CLEAN["sharp"].moved(5.0, 0.0)
    target = Target("line", roof=line((0.0, 25.0 + rise), (1000.0, 25.0 + rise)))
    metal = ask(s, [sharp] * 11, target=target, **{kind: np.linspace(0.0, turn, 11)}).removal
    out = radius + 25.0 + 0.5 * rise if kind == "pitch_deg" else radius - 5.0
    assert metal.volume_mm3 == pytest.approx(42.0 * rise * out * radians(turn), rel=1e-3)


def test_a_line_wanted_below_the_roof_is_missing_metal(ask: Ask, line: Lines) -> None:
    answers = ask(S, [BOX] * 10, target=at_line(line, BOX, -2.0))
    assert answers.removal.volume_mm3 == pytest.approx(0.0, abs=1e-6)
    assert answers.removal.missing_mm3 == pytest.approx(42.0 * 2.0 * LENGTH, rel=1e-3)
    assert answers.roof.peak.proud_mm == pytest.approx(-2.0, abs=1e-9)
    assert answers.removal.volume_after_mm3 == pytest.approx(answers.profile.volume_mm3, rel=1e-12)


def test_outside_the_line_s_range_the_port_stays_as_cast(ask: Ask, line: Lines) -> None:
    target = Target("part", roof=line((30.0, 27.0), (60.0, 27.0)))
    metal = ask(S, [BOX] * 10, target=target).removal
    by_zone = [z.volume_mm3 for z in metal.by_zone]
    inside = [3, 4, 5]
    assert [by_zone[k] for k in inside] == pytest.approx([42.0 * 2.0 * 10.0] * 3, rel=0.05)
    # the line steps down over one slab beside its ends
    assert sum(by_zone) - sum(by_zone[k] for k in inside) <= 2.0 * 42.0 * 2.0 * 0.5


@pytest.mark.parametrize("radius", [6.0, 9.5])
def test_corners_recut_to_less_take_off_two_spandrels(ask: Ask, line: Lines, radius: float) -> None:
    cast = rectangle(42.0, 50.0, CornerRadii(12.0, 12.0, 6.0, 6.0))
    metal = ask(S, [cast] * 10, target=Target("corners", corner_radius=line((0.0, radius)))).removal
    taken = 2.0 * (1.0 - pi / 4.0) * (12.0**2 - radius**2)
    assert metal.volume_mm3 == pytest.approx(taken * LENGTH, rel=6e-3)
    assert metal.by_side.roof == pytest.approx(metal.volume_mm3, rel=1e-6)


def test_corners_recut_to_their_own_radius_take_nothing_off(ask: Ask, line: Lines) -> None:
    metal = ask(S, [BOX] * 10, target=Target("corners", corner_radius=line((0.0, 9.5)))).removal
    # both arcs are drawn by chords, no longer than 0.75 mm: each misses at most c^3 / (12 r) of its arc
    chords = 2.0 * (0.5 * pi * 9.5 / 0.75) * 0.75**3 / (12.0 * 9.5) * LENGTH
    assert 0.0 <= metal.volume_mm3 < chords
    assert 0.0 <= metal.missing_mm3 < chords


def test_a_raised_roof_with_recut_corners_is_the_larger_rectangle(ask: Ask, line: Lines) -> None:
    target = at_line(line, BOX, 3.0, corner_radius=line((0.0, 4.0)))
    answers = ask(S, [BOX] * 10, target=target)
    after = 42.0 * 53.0 - (1.0 - pi / 4.0) * 2.0 * (4.0**2 + 6.0**2)
    assert answers.removal.after.area_mm2 == pytest.approx(
        np.full(len(answers.removal.after.area_mm2), after), rel=1e-4
    )


def test_walls_widened_take_their_height_times_the_widths(ask: Ask) -> None:
    # half a millimetre to the left and 2 to the right, running out to nothing at the end
    widen = np.array([[0.0, 0.5, 2.0], [LENGTH, 0.0, 0.0]])
    metal = ask(S, [BOX] * 10, target=Target("wide", widen=widen)).removal
    assert metal.volume_mm3 == pytest.approx(50.0 * 0.5 * (0.5 + 2.0) * LENGTH, rel=1e-3)
    sides = metal.by_side
    assert sides.left + sides.right + sides.roof + sides.floor == pytest.approx(metal.volume_mm3, rel=1e-9)


def test_sharp_walls_widened_take_from_each_wall_what_was_asked(ask: Ask) -> None:
    widen = np.array([[0.0, 0.5, 2.0], [LENGTH, 0.0, 0.0]])
    sides = ask(S, [CLEAN["sharp"]] * 10, target=Target("wide", widen=widen)).removal.by_side
    # rays are 0.7 mm apart, so the loft cuts a sharp corner by up to as much: that share goes to roof and floor
    chamfer = 4.0 * 0.7 / 100.0
    assert sides.left == pytest.approx(50.0 * 0.25 * LENGTH, rel=chamfer)
    assert sides.right == pytest.approx(50.0 * 1.0 * LENGTH, rel=chamfer)
    assert sides.left + sides.right + sides.roof + sides.floor == pytest.approx(50.0 * 1.25 * LENGTH, rel=1e-3)


def test_a_floor_line_takes_from_the_floor_what_a_roof_line_takes_from_the_roof(ask: Ask, line: Lines) -> None:
    metal = ask(S, [BOX] * 10, target=Target("low", floor_line=line((0.0, -26.5), (LENGTH, -26.5)))).removal
    assert metal.volume_mm3 == pytest.approx(42.0 * 1.5 * LENGTH, rel=1e-3)
    assert metal.by_side.floor == pytest.approx(metal.volume_mm3, rel=1e-9)


def test_a_throat_is_opened_to_its_diameter_and_runs_out_at_the_station_before(ask: Ask) -> None:
    answers = ask(S, [circle(44.0)] * 10, target=Target("throat", throat_diameter_mm=46.0))
    area = answers.removal.after.area_mm2
    assert area[-1] == pytest.approx(pi * 23.0**2, rel=2e-4)
    assert area[: answers.stage.slab[-2] + 1] == pytest.approx(np.full(answers.stage.slab[-2] + 1, pi * 22.0**2))
    # a ring that grows evenly from nothing to 1 mm over 10 mm of path
    assert answers.removal.volume_mm3 == pytest.approx(10.0 * pi * (22.0 + 1.0 / 3.0), rel=3e-3)


def test_an_opened_throat_keeps_a_throat_that_is_larger(ask: Ask) -> None:
    answers = ask(S, [circle(48.0)] * 10, target=Target("throat", throat_diameter_mm=46.0))
    assert answers.removal.volume_mm3 == 0.0
    assert answers.removal.missing_mm3 == 0.0


# Explicit sections and patterns


def test_explicit_sections_are_wanted_between_their_stations_and_cast_beyond(ask: Ask, table_of: Tables) -> None:
    inner = np.array([20.0, 35.0, 55.0])
    target = Target("street", sections=table_of(inner, [circle(46.0)] * 3))
    answers = ask(S, [circle(44.0)] * 10, target=target)
    assert answers.wanted.line_from == "job"
    assert answers.removal.volume_mm3 == pytest.approx(pi * (23.0**2 - 22.0**2) * 35.0, rel=0.02)
    s = answers.port.chart.distance_mm
    area = answers.removal.after.area_mm2
    assert area[(s >= 20.0) & (s <= 55.0)] == pytest.approx(pi * 23.0**2, rel=2e-4)
    assert area[(s < 19.5) | (s > 55.5)] == pytest.approx(pi * 22.0**2, rel=1e-9)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_pattern_is_the_finished_port_mirrored_where_the_ports_are(
    job_of: Jobs, table_of: Tables, mirrored: bool
) -> None:
    kinked = rectangle(44.0, 52.0, CornerRadii(14.0, 6.0, 6.0, 6.0)).moved(1.0, 0.0)
    (finished,) = loft_job(job_of(table_of(S, [kinked] * 10)))
    # measured elsewhere along the path, and shorter
    s = np.linspace(0.0, 70.0, 6)
    (rough,) = loft_job(job_of(table_of(s, [circle(38.0)] * 6)))
    wanted = wanted_port(
        rough, Target("like the other"), limits=Limits(), pattern=Pattern(finished.cast.surface, mirrored)
    )
    metal = removal(rough, rough.cast, wanted, density_g_cc=7.2)
    assert metal.volume_mm3 == pytest.approx((kinked.area_mm2 - pi * 19.0**2) * 70.0, rel=2e-3)
    side = metal.by_side
    assert (side.left > side.right) is mirrored
    assert (side.right > side.left) is not mirrored
    first = wanted.polygons[0][:, 0]
    assert (first.min(), first.max()) == pytest.approx((-23.0, 21.0) if mirrored else (-21.0, 23.0), abs=1e-6)


# Refusals


@pytest.mark.parametrize(
    ("target", "message"),
    [
        ({"roof": ((0.0, -3.0), (90.0, 5.0))}, "below the middle"),
        ({"floor_line": ((0.0, 3.0), (90.0, -20.0))}, "above the middle"),
        ({"corner_radius": ((0.0, 22.0),)}, r"22\.0 mm does not fit .* at most 21\.0 mm"),
        ({"throat_diameter_mm": 12.0}, "does not reach round the middle of the throat"),
    ],
)
def test_a_target_that_cannot_be_laid_is_refused(
    ask: Ask, line: Lines, target: dict[str, object], message: str
) -> None:
    rows = {k: line(*v) if isinstance(v, tuple) else v for k, v in target.items()}
    with pytest.raises(JobError, match=message):
        ask(S, [BOX] * 10, target=Target("bad", **rows))


def test_every_fault_of_a_target_is_told_at_once(ask: Ask, line: Lines) -> None:
    target = Target(
        "bad", roof=line((0.0, -3.0), (90.0, 5.0)), corner_radius=line((0.0, 30.0)), floor_line=line((0.0, 3.0))
    )
    with pytest.raises(JobError) as refused:
        ask(S, [BOX] * 10, target=target)
    assert len(refused.value.faults) == 3


def test_a_roof_raised_past_the_middle_of_an_upward_bend_is_refused(ask: Ask, line: Lines) -> None:
    # the bend turns up about a line 22 mm over the path; the roof lies 20 over it, and is wanted 3 higher
    pitch = -np.linspace(0.0, 60.0, 6)
    s = 22.0 * np.radians(-pitch)
    low = rectangle(40.0, 40.0, CornerRadii(5.0, 5.0, 5.0, 5.0))
    ask(s, [low] * 6, pitch_deg=pitch)
    raised = Target("up", roof_kind="roof_raise", roof=line((0.0, 3.0), (100.0, 3.0)))
    with pytest.raises(JobError, match="cross inside it"):
        ask(s, [low] * 6, pitch_deg=pitch, target=raised)
