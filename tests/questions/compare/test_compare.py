"""Siblings held against each other: straight ducts of known difference, mirrored ports, and the odd one out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.job.values import Accuracy, Copy, Job, SectionTable, Target
from portgeom.model.lofted import loft_job
from portgeom.output.words.compare_doc import compare_text
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.compare import Comparison, compare
from portgeom.questions.compare.match import Match, NoMatch
from portgeom.questions.compare.members import Member, Source, members
from portgeom.questions.compare.odd_one import odd_one, off_the_others
from portgeom.questions.compare.pairs import filled_mm3
from portgeom.questions.shape.removal import removal
from portgeom.questions.uncertainty.campaign import campaign
from portgeom.questions.whole import wanted_of

WIDTH, HEIGHT, LENGTH = 40.0, 44.0, 100.0
STATIONS = (0.0, 25.0, 50.0, 75.0, LENGTH)
DRAWS = 200
CORNER = 8.0

Compared: TypeAlias = Callable[..., Comparison]


def duct(more_mm: float = 0.0, *, side: str = "roof") -> Outline:
    """Return a duct with bevelled corners, one side of it moved outwards."""
    right, left, top, low = WIDTH / 2, -WIDTH / 2, HEIGHT / 2, -HEIGHT / 2
    top, low = top + more_mm * (side == "roof"), low - more_mm * (side == "floor")
    right, left = right + more_mm * (side == "right"), left - more_mm * (side == "left")
    c = CORNER
    corners = [(right, low + c), (right, top - c), (right - c, top), (left + c, top)]
    corners += [(left, top - c), (left, low + c), (left + c, low), (right - c, low)]
    return Outline.polygon(np.array(corners))


@pytest.fixture
def compared(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Compared:
    """Return a function that compares ports of one job.

    Each port is its outlines at all stations, or one for all of them; ``mirrored`` names those that are.
    """

    def of(
        *ports: Outline | Sequence[Outline],
        mirrored: Sequence[int] = (),
        within_mm: float = 0.2,
        accuracy: Accuracy = Accuracy(),  # noqa: B008
        length: Sequence[float] | None = None,
    ) -> Comparison:
        made = []
        for k, outlines in enumerate(ports):
            every = [outlines] * len(STATIONS) if isinstance(outlines, Outline) else list(outlines)
            s = np.array(STATIONS) * (1.0 if length is None else length[k] / LENGTH)
            (port,) = job_of(table_of(s, every)).ports
            made.append(replace(port, name=str(k + 1), mirrored=k in mirrored))
        job = replace(job_of(table_of(STATIONS, [duct()] * 5)), ports=tuple(made), accuracy=accuracy)
        lofted = loft_job(job)
        chosen = tuple((p, p.stage(None)) for p in lofted)
        return compare([Source(job, lofted, chosen, campaign(job, lofted, draws=DRAWS, parts=()))], within_mm=within_mm)

    return of


def metal_of(result: Comparison, k: int) -> float:
    match = result.matches[k]
    assert isinstance(match, Match)
    return match.metal.volume_mm3


def test_ducts_that_differ_by_a_strip_differ_by_its_volume(compared: Compared) -> None:
    result = compared(duct(1.0), duct())
    (pair,) = result.pairs
    area = duct().area_mm2
    strip = duct(1.0).area_mm2 - area
    assert pair.volume.value == pytest.approx(strip * LENGTH, rel=1e-9)
    assert pair.smallest.value == pytest.approx(strip, rel=1e-9)
    assert pair.entry.value == pytest.approx(strip, rel=1e-9)
    assert pair.throat.value == pytest.approx(strip, rel=1e-9)
    assert pair.areas.difference_mm2 == pytest.approx(np.full(101, strip), rel=1e-9)
    assert pair.areas.rms_percent == pytest.approx(100.0 * strip / area, rel=1e-9)
    assert pair.worst_percent == pytest.approx(100.0 * strip / area, rel=1e-9)


def test_figures_are_those_of_the_duct(compared: Compared) -> None:
    first = compared(duct(1.0), duct()).members[0]
    area = duct(1.0).area_mm2
    assert first.volume.value == pytest.approx(area * LENGTH, rel=1e-9)
    assert first.smallest.value == pytest.approx(area, rel=1e-9)
    assert (first.entry_mm2, first.throat_mm2) == pytest.approx((area, area), rel=1e-9)
    assert first.length_mm == LENGTH


def test_identical_ports_do_not_differ(compared: Compared) -> None:
    result = compared(duct(), duct())
    (pair,) = result.pairs
    assert pair.volume.value == 0.0
    assert not pair.volume.significant
    assert pair.zone is None
    assert [metal_of(result, k) for k in (0, 1)] == [0.0, 0.0]


def test_mirrored_siblings_are_identical(compared: Compared) -> None:
    """One with its left wall further out, the other with its right, and one of the two mirrored."""
    result = compared(duct(1.5, side="left"), duct(1.5, side="right"), mirrored=(1,))
    (pair,) = result.pairs
    assert pair.volume.value == pytest.approx(0.0, abs=1e-6)
    assert pair.areas.rms_percent == pytest.approx(0.0, abs=1e-9)
    assert [metal_of(result, k) for k in (0, 1)] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_the_same_two_not_mirrored_need_both_walls_cut(compared: Compared) -> None:
    result = compared(duct(1.5, side="left"), duct(1.5, side="right"))
    strip = (duct(1.5, side="left").area_mm2 - duct().area_mm2) * LENGTH
    for k, side in ((0, "right"), (1, "left")):
        match = result.matches[k]
        assert isinstance(match, Match)
        # read along rays across bevels, and cut to them
        assert match.metal.volume_mm3 == pytest.approx(strip, rel=0.03)
        # beyond the old wall the new one is 28 mm high, and its bevels begin 1.5 mm further in
        assert getattr(match.metal.by_side, side) == pytest.approx(1.5 * (28.0 + 31.0) / 2.0 * LENGTH, rel=0.02)
        assert sum(z.volume_mm3 for z in match.metal.by_zone) == pytest.approx(match.metal.volume_mm3)


@pytest.mark.parametrize(("apart", "cut"), [(0.15, False), (0.25, True)])
def test_what_is_within_the_tolerance_is_left(compared: Compared, apart: float, cut: bool) -> None:
    result = compared(duct(apart), duct())
    assert metal_of(result, 0) == 0.0
    assert (metal_of(result, 1) > 0.0) is cut


def test_metal_comes_off_only_the_port_that_lacks_it(compared: Compared) -> None:
    """Raised by 1 mm from 50 mm on: that zone is named, and holds what has to come off the other."""
    raised = [duct(), duct(), duct(1.0), duct(1.0), duct(1.0)]
    result = compared(raised, duct())
    (pair,) = result.pairs
    assert pair.zone is not None
    assert pair.zone.from_mm >= 25.0
    assert pair.zone.share >= 0.5
    match = result.matches[1]
    assert isinstance(match, Match)
    zones = {z.from_mm: z.volume_mm3 for z in match.metal.by_zone}
    strip = duct(1.0).area_mm2 - duct().area_mm2
    assert zones[0.0] == 0.0
    assert zones[50.0] == pytest.approx(strip * 25.0, rel=0.03)
    assert metal_of(result, 0) == 0.0


def test_the_pattern_of_several_is_where_the_furthest_is(compared: Compared) -> None:
    result = compared(duct(1.0), duct(1.0, side="floor"), duct())
    one, two, three = (metal_of(result, k) for k in range(3))
    strip = (duct(1.0).area_mm2 - duct().area_mm2) * LENGTH
    assert (one, two, three) == pytest.approx((strip, strip, 2.0 * strip), rel=0.03)


def test_ports_that_do_not_lie_over_each_other_are_told(compared: Compared) -> None:
    aside = duct().moved(30.0, 0.0)
    result = compared(duct(), aside)
    assert isinstance(result.matches[0], NoMatch)
    assert result.matches[0].other == "2"
    assert "does not reach round this port's middle" in result.matches[0].why


def test_paths_of_unlike_length_are_told(compared: Compared) -> None:
    (pair,) = compared(duct(), duct(), length=(100.0, 90.0)).pairs
    assert pair.unlike_lengths
    assert float(pair.areas.distance_mm[-1]) == 90.0


def test_a_difference_far_beyond_the_readings_is_real_and_one_within_them_is_not(compared: Compared) -> None:
    sure = Accuracy(gauge_mm=0.02, trace_mm=0.02, tool_bias_mm=0.0, distance_mm=0.05, pitch_deg=0.1)
    assert compared(duct(1.0), duct(), accuracy=sure).pairs[0].volume.significant
    assert not compared(duct(0.02), duct()).pairs[0].volume.significant


def test_an_error_shared_by_both_cancels_in_their_difference(compared: Compared) -> None:
    """Only the tool is off, by the same for every reading: each volume is unsure, their difference is not."""
    biased = Accuracy(gauge_mm=0.0, trace_mm=0.0, tool_bias_mm=0.5, distance_mm=0.0, pitch_deg=0.0)
    result = compared(duct(0.1), duct(), accuracy=biased)
    (pair,) = result.pairs
    assert result.members[0].volume.sd > 1000.0
    assert pair.volume.sd < 0.05 * result.members[0].volume.sd
    assert pair.volume.significant


SIXTEEN = 16
ODD = 11


def head(seed: int, odd_mm: float) -> list[Outline]:
    """Return sixteen ducts as castings come, a twentieth of a millimetre more or less, and one by more."""
    more = 0.05 * np.random.default_rng(seed).standard_normal(SIXTEEN)
    more[ODD] += odd_mm
    return [duct(float(x)) for x in more]


def test_the_odd_one_of_sixteen_is_named(compared: Compared) -> None:
    result = compared(*head(1, 2.5))
    assert result.odd is not None
    assert result.odd.member == ODD
    assert len(result.pairs) == SIXTEEN * (SIXTEEN - 1) // 2
    assert result.odd.by[0].distance > 0.0
    assert {o.figure for o in result.odd.by} >= {"smallest area"}


def members_of(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable], outlines: Sequence[Outline]
) -> tuple[Member, ...]:
    """Return ports of one duct each, without what is asked of every two of them."""
    ports = [replace(job_of(table_of([0.0, LENGTH], [o] * 2)).ports[0], name=str(k)) for k, o in enumerate(outlines)]
    job = replace(job_of(table_of([0.0, LENGTH], [duct()] * 2)), ports=tuple(ports))
    lofted = loft_job(job, resolution=Resolution(slab_mm=10.0, rays=64))
    chosen = tuple((p, p.cast) for p in lofted)
    return members([Source(job, lofted, chosen, campaign(job, lofted, draws=DRAWS, parts=()))])


@pytest.mark.parametrize("seed", range(4))
def test_of_sixteen_alike_none_stands_out(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable], seed: int
) -> None:
    assert odd_one(off_the_others(members_of(job_of, table_of, head(seed, 0.0)))) is None


@pytest.mark.parametrize("odd_mm", [2.5, -2.5])
def test_the_odd_one_is_told_on_either_side(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable], odd_mm: float
) -> None:
    found = odd_one(off_the_others(members_of(job_of, table_of, head(2, odd_mm))))
    assert found is not None
    assert found.member == ODD
    assert np.sign(found.by[0].distance) == np.sign(odd_mm)


def test_one_narrow_place_makes_a_port_the_odd_one(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    """Alike in volume and smallest area, and one of them 2 mm lower in the middle, where they are wide."""
    more = 0.05 * np.random.default_rng(4).standard_normal(SIXTEEN)
    s = np.linspace(0.0, LENGTH, 9)
    shape = 4.0 * np.sin(np.pi * s / LENGTH)
    dent = np.where(np.arange(9) == 4, 2.0, 0.0)
    ports = []
    for k, x in enumerate(more):
        outlines = [duct(float(h)) for h in shape + x - (dent if k == ODD else 0.0)]
        ports.append(replace(job_of(table_of(s, outlines)).ports[0], name=str(k)))
    job = replace(job_of(table_of(s, [duct()] * 9)), ports=tuple(ports))
    lofted = loft_job(job, resolution=Resolution(slab_mm=5.0, rays=64))
    source = Source(job, lofted, tuple((p, p.cast) for p in lofted), campaign(job, lofted, draws=DRAWS, parts=()))
    found = odd_one(off_the_others(members([source])))
    assert found is not None
    assert found.member == ODD
    assert found.by[0].figure == "area along the path"
    assert found.by[0].at_mm == pytest.approx(50.0, abs=5.0)
    assert found.by[0].distance < 0.0


def test_readings_so_poor_that_no_draw_is_a_port_leave_it_not_known(compared: Compared) -> None:
    blind = Accuracy(pitch_deg=80.0, distance_mm=40.0)
    result = compared(duct(1.0), duct(), duct(), accuracy=blind)
    assert result.folded > 0.8 * 3 * DRAWS
    pair = result.pairs[0]
    assert pair.volume.value > 0.0
    assert not pair.volume.significant
    assert result.odd is None
    told = compare_text(result, Shown("mm"))
    assert "not known" in told
    assert "nan" not in told


def test_of_two_neither_is_the_odd_one(compared: Compared) -> None:
    result = compared(duct(3.0), duct())
    assert result.odd is None
    assert result.off == ()


def test_stages_of_one_port_are_compared_but_not_matched(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    job = job_of(table_of(STATIONS, [duct()] * 5), table_of(STATIONS, [duct(1.0)] * 5))
    ports = loft_job(job)
    chosen = tuple((ports[0], s) for s in ports[0].stages)
    result = compare([Source(job, ports, chosen, campaign(job, ports, draws=DRAWS, parts=()))])
    assert [m.name for m in result.members] == ["1, as cast", "1, stage 2"]
    assert result.matches == ()
    assert result.off == ()


def test_ports_of_two_jobs_are_told_apart_by_title(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    sources = []
    for k, title in enumerate(("left head", "right head")):
        job = replace(job_of(table_of(STATIONS, [duct(0.1 * k)] * 5)), title=title)
        ports = loft_job(job)
        sources.append(
            Source(job, ports, ((ports[0], ports[0].cast),), campaign(job, ports, draws=DRAWS, seed=7 + k, parts=()))
        )
    result = compare(sources)
    assert [m.name for m in result.members] == ["left head, 1, as cast", "right head, 1, as cast"]
    assert result.pairs[0].volume.value == pytest.approx((duct().area_mm2 - duct(0.1).area_mm2) * LENGTH, rel=1e-6)


def test_what_is_filled_to_the_end_is_the_whole(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    """Along a bend, where every interval turns in its own way."""
    pitch = np.array([0.0, 10.0, 40.0, 70.0, 80.0])
    job = job_of(table_of(STATIONS, [duct(x) for x in (0.0, 1.0, 0.5, 0.0, 2.0)], pitch_deg=pitch))
    surface = loft_job(job)[0].cast.surface
    filled = filled_mm3(surface)
    assert filled[0] == 0.0
    assert len(filled) == len(surface.chart.distance_mm)
    assert filled[surface.chart.knot_slab[1:]] == pytest.approx(np.cumsum(surface.volume_mm3), rel=1e-5)


def test_a_finished_port_mirrored_is_the_pattern_for_the_next(
    job_of: Callable[..., Job], table_of: Callable[..., SectionTable]
) -> None:
    """Finished, the first has its left wall 1 mm further out; its mirrored neighbour is to have that on its right."""
    (first,) = job_of(table_of(STATIONS, [duct()] * 5), table_of(STATIONS, [duct(1.0, side="left")] * 5)).ports
    (second,) = job_of(table_of(STATIONS, [duct()] * 5)).ports
    second = replace(second, name="2", mirrored=True, target="as the first")
    job = job_of(table_of(STATIONS, [duct()] * 5))
    target = Target("as the first", copy_of=Copy("1", "stage 2"))
    job = replace(job, ports=(first, second), targets=(target,))
    ports = loft_job(job)
    metal = removal(ports[1], ports[1].cast, wanted_of(job, ports, ports[1]), density_g_cc=7.2)
    assert metal.volume_mm3 == pytest.approx((duct(1.0, side="left").area_mm2 - duct().area_mm2) * LENGTH, rel=0.03)
    assert metal.by_side.right > 20.0 * max(metal.by_side.left, 1.0)
    # and what would come off it so that the two match is the same
    drawn = campaign(job, ports, draws=DRAWS, parts=())
    found = compare([Source(job, ports, tuple((p, p.stage(None)) for p in ports), drawn)])
    assert metal_of(found, 1) == pytest.approx(metal.volume_mm3, rel=1e-6)
    assert metal_of(found, 0) == 0.0
