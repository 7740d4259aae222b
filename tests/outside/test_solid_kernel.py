"""Volumes and metal to remove against a mesh library and its boolean kernel (trimesh with manifold3d).

The meshes compared with are made here from the formulas of the shapes, by rings far closer than the stations,
in frames written down in closed form. They share no code with what is tested.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi, radians
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import pytest
import trimesh

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import circle, ellipse
from portgeom.job.values import Line, Target
from portgeom.questions.shape.solids import port_solids
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
Lines: TypeAlias = Callable[..., Line]
Array: TypeAlias = npt.NDArray[np.float64]
Section: TypeAlias = Callable[[float], Array]
BEND = 60.0  # mm, radius of the path in the bends below
TURN = radians(90.0)
LENGTH = BEND * TURN


def closed(rings: Sequence[Array]) -> trimesh.Trimesh:
    """Return a closed mesh through rings of equal size, each end a fan about its middle."""
    m, n = len(rings), len(rings[0])
    ends = [rings[0].mean(axis=0), rings[-1].mean(axis=0)]
    i, k = np.meshgrid(np.arange(m - 1), np.arange(n), indexing="ij")
    a, b = i * n + k, i * n + (k + 1) % n
    side = np.concatenate([np.stack([a, a + n, b + n], -1).reshape(-1, 3), np.stack([a, b + n, b], -1).reshape(-1, 3)])
    near = [(m * n, j, (j + 1) % n) for j in range(n)]
    far = [(m * n + 1, (m - 1) * n + (j + 1) % n, (m - 1) * n + j) for j in range(n)]
    faces = np.concatenate([side, near, far])
    mesh = trimesh.Trimesh(np.concatenate([*rings, ends]), faces, process=False)
    if mesh.volume < 0.0:
        mesh.invert()
    assert mesh.is_volume
    return mesh


def straight(section: Section, length: float, step: float = 0.5) -> trimesh.Trimesh:
    rings = []
    for y in np.linspace(0.0, length, round(length / step) + 1):
        u, v = section(y).T
        rings.append(np.column_stack([u, np.full(len(u), y), v]))
    return closed(rings)


def down_the_bend(section: Section, step: float = 0.5) -> trimesh.Trimesh:
    """Return a mesh whose path turns down to the deck about the line y = 0, z = -BEND."""
    rings = []
    for s in np.linspace(0.0, LENGTH, round(LENGTH / step) + 1):
        u, v = section(s).T
        out, angle = BEND + v, s / BEND
        rings.append(np.column_stack([u, out * np.sin(angle), out * np.cos(angle) - BEND]))
    return closed(rings)


def round_the_bend(section: Section, step: float = 0.5) -> trimesh.Trimesh:
    """Return a mesh whose path turns to the right about the line x = BEND, y = 0."""
    rings = []
    for s in np.linspace(0.0, LENGTH, round(LENGTH / step) + 1):
        u, v = section(s).T
        out, angle = BEND - u, s / BEND
        rings.append(np.column_stack([BEND - out * np.cos(angle), out * np.sin(angle), v]))
    return closed(rings)


def less(a: trimesh.Trimesh, b: trimesh.Trimesh) -> trimesh.Trimesh:
    left = trimesh.boolean.difference([a, b], engine="manifold")
    assert left.is_volume
    return left


def rounded(width: float, bottom: float, top: float, radius: float, each: int = 24) -> Array:
    """Return a rectangle with one radius on every corner, anticlockwise."""
    t = np.linspace(0.0, 0.5 * pi, each)
    corners = []
    centres = [(1, top - radius), (-1, top - radius), (-1, bottom + radius), (1, bottom + radius)]
    for k, (side, v) in enumerate(centres):
        angle = t + 0.5 * pi * k
        corners.append((side * (0.5 * width - radius), v) + radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    return np.concatenate(corners)


def sagging(s: float) -> Array:
    """Return a section whose roof hangs up to 5 mm into the passage half way along."""
    return rounded(42.0, -25.0, 25.0 - 5.0 * np.sin(pi * s / LENGTH) ** 2, 9.5)


def with_boss(s: float, middle: float, across: float = 4.0, radius: float = 13.0, height: float = 6.0) -> Array:
    """Return a flat-roofed section with a smooth boss hanging from it, the same places across every time."""
    u = np.linspace(20.999, -20.999, 241)
    away = np.minimum(1.0, np.hypot(s - middle, u - across) / radius)
    roof = np.column_stack([u, 25.0 - height * np.cos(0.5 * pi * away) ** 2])
    return np.concatenate([roof, [(-21.0, 20.0), (-21.0, -25.0), (21.0, -25.0), (21.0, 20.0)]])


def stations(count: int, section: Section, length: float) -> tuple[Array, list[Outline]]:
    s = np.linspace(0.0, length, count)
    return s, [Outline.polygon(section(x)) for x in s]


def test_the_metal_of_a_sagging_roof_on_a_bend_is_the_difference_of_two_meshes(ask: Ask, line: Lines) -> None:
    s, outlines = stations(15, sagging, LENGTH)
    target = Target("line", roof=line((0.0, 27.0), (LENGTH, 27.0)))
    metal = ask(s, outlines, pitch_deg=np.degrees(s / BEND), target=target).removal
    wanted = down_the_bend(lambda _: rounded(42.0, -25.0, 27.0, 9.5))
    taken = less(wanted, down_the_bend(sagging))
    assert metal.volume_mm3 == pytest.approx(taken.volume, rel=5e-3)
    assert metal.volume_after_mm3 == pytest.approx(wanted.volume, rel=1e-3)
    assert metal.by_side.roof == pytest.approx(metal.volume_mm3, rel=1e-3)


@pytest.mark.parametrize(
    ("bent", "angles"),
    [(straight, ()), (down_the_bend, ("pitch_deg",)), (round_the_bend, ("yaw_deg",))],
    ids=["straight", "down", "to the right"],
)
def test_the_metal_of_a_boss_is_the_difference_of_two_meshes(
    ask: Ask, line: Lines, bent: Callable[..., trimesh.Trimesh], angles: tuple[str, ...]
) -> None:
    middle = 30.0
    s, outlines = stations(48, lambda x: with_boss(x, middle), LENGTH)
    target = Target("line", roof=line((0.0, 25.0), (LENGTH, 25.0)))
    answers = ask(s, outlines, target=target, **{name: np.degrees(s / BEND) for name in angles})
    cast, wanted = (lambda x: with_boss(x, middle)), (lambda x: with_boss(x, -100.0))
    meshes = (straight(wanted, LENGTH), straight(cast, LENGTH)) if bent is straight else (bent(wanted), bent(cast))
    assert answers.removal.volume_mm3 == pytest.approx(less(*meshes).volume, rel=5e-3)
    assert answers.profile.volume_mm3 == pytest.approx(meshes[1].volume, rel=1e-3)


@pytest.mark.parametrize(
    ("bent", "angle"), [(down_the_bend, "pitch_deg"), (round_the_bend, "yaw_deg")], ids=["down", "to the right"]
)
def test_metal_and_missing_metal_of_crossing_sections_on_a_bend_are_the_two_differences(
    ask: Ask, table_of: Callable[..., object], bent: Callable[[Section], trimesh.Trimesh], angle: str
) -> None:
    # as cast a circle, wanted a flatter and wider ellipse that also moves across: neither holds the other
    t = np.linspace(0.0, 2.0 * pi, 360, endpoint=False)
    ring = np.column_stack([np.cos(t), np.sin(t)])

    def wanted_at(s: float) -> Array:
        return ring * (24.0 + 0.02 * s, 18.0) + (2.0 * np.sin(s / LENGTH * pi), 0.0)

    s = np.linspace(0.0, LENGTH, 15)
    wanted = [ellipse(2.0 * (24.0 + 0.02 * x), 36.0).moved(2.0 * np.sin(x / LENGTH * pi), 0.0) for x in s]
    target = Target("pattern", sections=table_of(s, wanted))
    metal = ask(s, [circle(42.0)] * 15, target=target, **{angle: np.degrees(s / BEND)}).removal
    cast_mesh, wanted_mesh = bent(lambda _: 21.0 * ring), bent(wanted_at)
    assert metal.volume_mm3 == pytest.approx(less(wanted_mesh, cast_mesh).volume, rel=5e-3)
    assert metal.missing_mm3 == pytest.approx(less(cast_mesh, wanted_mesh).volume, rel=5e-3)
    union = trimesh.boolean.union([cast_mesh, wanted_mesh], engine="manifold")
    assert metal.volume_after_mm3 == pytest.approx(union.volume, rel=1e-3)


def test_the_three_solids_of_a_port_are_closed_and_have_the_volumes_of_the_sections(ask: Ask, line: Lines) -> None:
    s, outlines = stations(15, sagging, LENGTH)
    target = Target("line", roof=line((0.0, 27.0), (LENGTH, 27.0)))
    answers = ask(s, outlines, pitch_deg=np.degrees(s / BEND), target=target)
    parts = port_solids(answers.stage, answers.removal)
    assert [p.what for p in parts] == ["passage", "wanted", "metal to remove"]
    for part in parts:
        mesh = trimesh.Trimesh(part.solid.vertices_mm, part.solid.faces, process=False)
        assert mesh.is_volume, part.what
        assert mesh.is_winding_consistent, part.what
        bound = 5e-3 if part.what == "metal to remove" else 3e-4
        assert mesh.volume == pytest.approx(part.formula_mm3, rel=bound), part.what
        assert mesh.volume == pytest.approx(part.solid.volume_mm3, rel=1e-9), part.what
