"""What must not change an answer: where the port lies, its size, its side, how its outlines were written down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from math import pi
from typing import TypeAlias

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.job.values import Job, Line, Target
from portgeom.model.lofted import loft_job
from portgeom.questions.whole import Answers, answers

Ask: TypeAlias = Callable[..., Answers]
COARSE = Resolution(slab_mm=1.0, rays=128)
few = settings(
    derandomize=True, deadline=None, max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@dataclass(frozen=True)
class Drawn:
    """Sections along a bend, drawn at random: each a wobbly closed curve about the path."""

    s: F64
    pitch: F64
    yaw: F64
    outlines: tuple[Outline, ...]
    roof: float

    def asked(self, ask: Ask, **changed: object) -> Answers:
        given_ = {"pitch_deg": self.pitch, "yaw_deg": self.yaw, "resolution": COARSE, "target": self.target()}
        s, outlines = changed.pop("s", self.s), changed.pop("outlines", self.outlines)
        return ask(s, outlines, **{**given_, **changed})

    def target(self, factor: float = 1.0) -> Target:
        height = self.roof * factor
        return Target("line", roof=Line(np.array([(0.0, height), (1000.0 * factor, height)])))


def wobbly(phases: list[float], sizes: list[float], width: float, height: float, count: int = 90) -> Outline:
    t = np.linspace(0.0, 2.0 * pi, count, endpoint=False)
    out = 1.0 + sum(a * np.sin(k * t + p) for k, (a, p) in enumerate(zip(sizes, phases, strict=True), start=2))
    return Outline.polygon(np.column_stack([0.5 * width * out * np.cos(t), 0.5 * height * out * np.sin(t)]))


@st.composite
def ports(draw: st.DrawFn) -> Drawn:
    count = draw(st.integers(4, 7))
    gaps = draw(st.lists(st.floats(8.0, 20.0), min_size=count - 1, max_size=count - 1))
    s = np.concatenate([[0.0], np.cumsum(gaps)])
    pitch = np.cumsum(draw(st.lists(st.floats(-2.0, 12.0), min_size=count, max_size=count)))
    yaw = np.cumsum(draw(st.lists(st.floats(-6.0, 6.0), min_size=count, max_size=count)))
    phase = st.lists(st.floats(0.0, 6.28), min_size=3, max_size=3)
    size = st.lists(st.floats(0.0, 0.02), min_size=3, max_size=3)
    outlines = tuple(
        wobbly(draw(phase), draw(size), draw(st.floats(36.0, 46.0)), draw(st.floats(40.0, 52.0))) for _ in range(count)
    )
    return Drawn(s, pitch, yaw, outlines, draw(st.floats(24.0, 28.0)))


def numbers(found: Answers) -> F64:
    """Return every volume, area and length that an answer rests on."""
    metal, profile, roof = found.removal, found.profile, found.roof
    sides = metal.by_side
    return np.array(
        [
            profile.volume_mm3,
            profile.smallest.area_mm2,
            *[f.flow_area_mm2 for f in profile.stations],
            *[f.area_mm2 for f in profile.stations],
            *[f.perimeter_mm for f in profile.stations],
            profile.taper.worst_above.percent,
            profile.taper.steepest.cone_angle_deg,
            metal.volume_mm3,
            metal.missing_mm3,
            metal.volume_after_mm3,
            sides.roof,
            sides.floor,
            sides.left,
            sides.right,
            roof.peak.proud_mm,
            roof.lowest.proud_mm,
            sum(b.volume_mm3 for b in roof.bulges),
            len(roof.bulges),
        ]
    )


@few
@given(port=ports(), start=st.tuples(*[st.floats(-300.0, 300.0)] * 3), turn=st.floats(-180.0, 180.0))
def test_moving_and_turning_the_port_in_its_head_changes_nothing(
    ask: Ask, port: Drawn, start: tuple[float, float, float], turn: float
) -> None:
    moved = port.asked(ask, position_mm=np.array(start), yaw_deg=port.yaw + turn)
    assert numbers(moved) == pytest.approx(numbers(port.asked(ask)), rel=1e-7, abs=1e-6)


@few
@given(port=ports(), factor=st.sampled_from([0.5, 2.0, 4.0]))
def test_a_port_twice_the_size_has_four_times_the_area_and_eight_times_the_volume(
    ask: Ask, port: Drawn, factor: float
) -> None:
    outlines = [Outline.polygon(o.points_mm * factor) for o in port.outlines]
    large = port.asked(
        ask,
        s=port.s * factor,
        outlines=outlines,
        target=port.target(factor),
        resolution=replace(COARSE, slab_mm=COARSE.slab_mm * factor),
    )
    small = port.asked(ask)
    for name in ("volume_mm3", "missing_mm3", "volume_after_mm3"):
        here, there = getattr(large.removal, name), getattr(small.removal, name)
        assert here == pytest.approx(there * factor**3, rel=1e-8, abs=1e-6)
    assert large.profile.volume_mm3 == pytest.approx(small.profile.volume_mm3 * factor**3, rel=1e-9)
    assert large.profile.area_mm2 == pytest.approx(small.profile.area_mm2 * factor**2, rel=1e-9)


@few
@given(port=ports())
def test_a_mirrored_port_swaps_left_and_right_and_nothing_else(ask: Ask, port: Drawn) -> None:
    here = port.asked(ask)
    there = port.asked(ask, outlines=[o.mirrored() for o in port.outlines], yaw_deg=-port.yaw)
    mirrored = numbers(there)
    mirrored[[-6, -5]] = mirrored[[-5, -6]]
    assert mirrored == pytest.approx(numbers(here), rel=1e-6, abs=1e-4)
    assert there.removal.by_side.left == pytest.approx(here.removal.by_side.right, rel=1e-6, abs=1e-4)


@few
@given(port=ports(), shift=st.integers(1, 89))
def test_where_an_outline_starts_changes_nothing(ask: Ask, port: Drawn, shift: int) -> None:
    rolled = [Outline.polygon(np.roll(o.points_mm, shift + k, axis=0)) for k, o in enumerate(port.outlines)]
    assert numbers(port.asked(ask, outlines=rolled)) == pytest.approx(numbers(port.asked(ask)), rel=1e-8, abs=1e-6)


@few
@given(port=ports(), share=st.floats(0.1, 0.9), every=st.integers(1, 7))
def test_points_added_on_straight_pieces_change_nothing(ask: Ask, port: Drawn, share: float, every: int) -> None:
    outlines = []
    for o in port.outlines:
        points = o.points_mm
        added = (1.0 - share) * points + share * np.roll(points, -1, axis=0)
        rows = [
            np.stack([p, a]) if k % every == 0 else p[None] for k, (p, a) in enumerate(zip(points, added, strict=True))
        ]
        outlines.append(Outline.polygon(np.concatenate(rows)))
    assert numbers(port.asked(ask, outlines=outlines)) == pytest.approx(numbers(port.asked(ask)), rel=1e-8, abs=1e-6)


# A split station


def on_the_loft(found: Answers, at: float) -> Outline:
    """Return the section that the loft has at a slab."""
    return Outline.polygon(found.stage.surface.points_mm[found.port.chart.slab_at(at)])


def smooth_port(seed: int) -> tuple[F64, F64, list[Outline]]:
    """Return a port whose readings run smoothly, as a port's do: no corner in any of them."""
    rng = np.random.default_rng(seed)
    s = np.linspace(0.0, 120.0, 13)
    w, wave = s / 120.0, rng.uniform(0.0, 2.0 * pi, 3)
    width = 42.0 + 3.0 * np.sin(pi * w + wave[0])
    height = 50.0 - 6.0 * w + 1.5 * np.sin(2.0 * pi * w + wave[1])
    radius = 9.5 + 6.0 * w
    outlines = [
        rectangle(a, b, CornerRadii(r, r, r, r)).moved(1.5 * np.sin(pi * k), 2.0 * np.sin(pi * k + wave[2]))
        for a, b, r, k in zip(width, height, radius, w, strict=True)
    ]
    return s, np.linspace(0.0, 70.0, 13) * w, outlines


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("interval", [0, 5, 11])
def test_a_station_split_in_two_changes_volume_by_a_ten_thousandth_and_area_by_two_thousandths(
    ask: Ask, seed: int, interval: int
) -> None:
    s, pitch, outlines = smooth_port(seed)
    whole = ask(s, outlines, pitch_deg=pitch)
    at = 0.5 * (s[interval] + s[interval + 1])
    slab = whole.port.chart.slab_at(at)
    at = float(whole.port.chart.distance_mm[slab])
    turned = np.interp(at, s, pitch)
    split = ask(
        np.insert(s, interval + 1, at),
        [*outlines[: interval + 1], on_the_loft(whole, at), *outlines[interval + 1 :]],
        pitch_deg=np.insert(pitch, interval + 1, turned),
    )
    assert split.profile.volume_mm3 == pytest.approx(whole.profile.volume_mm3, rel=1e-4)
    area = np.interp(whole.profile.distance_mm, split.profile.distance_mm, split.profile.area_mm2)
    assert area == pytest.approx(whole.profile.area_mm2, rel=2e-3)


# Nothing is changed on the way


def arrays_in(value: object, found: list[F64]) -> list[F64]:
    if isinstance(value, np.ndarray):
        found.append(value)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            arrays_in(getattr(value, field.name), found)
    elif isinstance(value, tuple | list):
        for item in value:
            arrays_in(item, found)
    return found


def test_no_question_changes_what_it_is_asked_of(table_of: Callable[..., object], job_of: Callable[..., Job]) -> None:
    s = np.linspace(0.0, 80.0, 9)
    rows = np.array([(0.0, 26.0), (80.0, 25.0)])
    widen = np.array([(0.0, 0.5, 1.0), (60.0, 0.0, 0.0)])
    target = Target("all", roof=Line(rows), corner_radius=Line(np.array([(0.0, 8.0)])), widen=widen)
    guide_free = job_of(table_of(s, [circle(44.0)] * 9, pitch_deg=np.linspace(0.0, 50.0, 9)), target=target)
    before = [a.copy() for a in arrays_in(guide_free, [])]
    (port,) = loft_job(guide_free)
    lofted_before = [a.copy() for a in arrays_in(port, [])]
    answers(guide_free, (port,), port, port.cast)
    for kept, now in zip(before, arrays_in(guide_free, []), strict=True):
        assert np.array_equal(kept, now)
    for kept, now in zip(lofted_before, arrays_in(port, []), strict=True):
        assert np.array_equal(kept, now, equal_nan=True)


def test_the_same_question_asked_twice_has_the_same_answer(ask: Ask) -> None:
    s, pitch, outlines = smooth_port(1)
    first, second = (numbers(ask(s, outlines, pitch_deg=pitch)) for _ in range(2))
    assert np.array_equal(first, second)
