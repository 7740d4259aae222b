"""Closed meshes, measured by trimesh."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from portgeom.geometry.chart import Resolution, lay_chart
from portgeom.geometry.difference import less
from portgeom.geometry.outline import Outline
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle
from portgeom.geometry.solid import Solid, SolidError, closed_mesh, mesh_volume_mm3, solid_of
from portgeom.geometry.surface import Surface, loft

TETRA = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
OUTWARD = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])


def kinked(stations: int = 7, resolution: Resolution = Resolution()) -> Surface:  # noqa: B008
    """Return a bend with yaw and roll whose roof hangs low at its face and is round at its end."""
    w = np.linspace(0.0, 1.0, stations)
    outlines: list[Outline] = []
    for k in w:
        t = np.linspace(0.0, 2.0 * pi, 240, endpoint=False)
        hang = (1.0 - k) * 14.0 * np.exp(-(((np.degrees(t) - 80.0) / 25.0) ** 2))
        out = np.column_stack([21.0 * np.cos(t), 24.0 * np.sin(t) - hang])
        outlines.append(Outline.polygon(out))
    path = Path.from_angles(90.0 * w, 70.0 * w, 25.0 * w, 10.0 * w)
    return loft(lay_chart(path, outlines, resolution=resolution), path.distance_mm, outlines)


def straight(*outlines: Outline, length: float = 60.0, resolution: Resolution = Resolution()) -> Surface:  # noqa: B008
    path = Path.from_angles(np.linspace(0.0, length, len(outlines)), *np.zeros((3, len(outlines))))
    return loft(lay_chart(path, outlines, resolution=resolution), path.distance_mm, outlines)


SURFACES = {
    "kinked": kinked(),
    "pipe": straight(circle(46.0), circle(46.0)),
    "cone": straight(circle(46.0), circle(30.0), length=20.0),
    "rectangle to obround": straight(rectangle(42.0, 50.0, CornerRadii(9.0, 9.0, 6.0, 6.0)), obround(50.0, 38.0)),
    "flat": straight(obround(60.0, 20.0), obround(62.0, 18.0)),
    "tall": straight(obround(20.0, 60.0), obround(18.0, 62.0)),
    "tall and sharp": straight(*[rectangle(30.0, 60.0, CornerRadii(0.0, 0.0, 0.0, 0.0))] * 2),
    "tall to round": straight(rectangle(30.0, 58.0, CornerRadii(9.5, 9.5, 9.5, 9.5)), circle(46.0)),
}


@pytest.mark.parametrize("name", SURFACES)
def test_a_solid_is_closed_wound_outward_and_of_the_formula_s_volume(name: str) -> None:
    surface = SURFACES[name]
    solid = solid_of(surface)
    mesh = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.euler_number == 2
    assert mesh.volume > 0.0
    assert mesh.volume == pytest.approx(solid.volume_mm3, rel=1e-12)
    assert mesh.volume == pytest.approx(surface.volume_mm3.sum(), rel=3e-4)


@pytest.mark.parametrize("name", SURFACES)
def test_the_flat_ends_cover_their_sections_once(name: str) -> None:
    surface = SURFACES[name]
    solid = solid_of(surface)
    rays = surface.chart.rays.total
    wall = 2 * rays * (len(surface.chart.distance_mm) - 1)
    for end, faces in zip((0, -1), np.array_split(solid.faces[wall:], 2), strict=True):
        corners = solid.vertices_mm[faces]
        square = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        out = -surface.chart.planes.normal[0] if end == 0 else surface.chart.planes.normal[-1]
        area = 0.5 * square @ out
        assert (area > -1e-9).all()  # no triangle is turned over, so none lies outside its section
        drawn = Outline.polygon(surface.points_mm[end])
        assert area.sum() == pytest.approx(drawn.area_mm2, rel=1e-9)
        assert np.linalg.norm(0.5 * square, axis=1).sum() == pytest.approx(drawn.area_mm2, rel=1e-9)


def test_the_first_end_is_a_plane_at_the_face() -> None:
    solid = solid_of(SURFACES["pipe"])
    assert solid.vertices_mm[:, 1].min() == pytest.approx(0.0, abs=1e-12)
    assert solid.vertices_mm[:, 1].max() == pytest.approx(60.0, rel=1e-12)


def test_finer_rays_bring_the_mesh_nearer_to_the_closed_form_at_second_order() -> None:
    exact = pi * 23.0**2 * 60.0
    low = []
    for rays in (64, 128, 256):
        pipe = straight(circle(46.0), circle(46.0), resolution=Resolution(slab_mm=5.0, rays=rays))
        low.append(1.0 - solid_of(pipe).volume_mm3 / exact)
    assert min(low) > 0.0
    # the outline's own 480 chords stay
    chord = 2.0 * pi / 480.0
    own = 1.0 - np.sin(chord) / chord
    assert (low[0] - own) / (low[1] - own) > 3.0
    assert low[2] < 3e-4


def test_a_mesh_with_a_hole_is_no_solid() -> None:
    with pytest.raises(SolidError, match="3 edges have no partner"):
        closed_mesh(TETRA, OUTWARD[:3])


def test_a_mesh_with_one_face_turned_over_is_no_solid() -> None:
    turned = OUTWARD.copy()
    turned[0] = turned[0][::-1]
    with pytest.raises(SolidError, match="not closed"):
        closed_mesh(TETRA, turned)


def test_a_mesh_inside_out_is_no_solid() -> None:
    with pytest.raises(SolidError, match=r"inside out: its volume is -0\.167"):
        closed_mesh(TETRA, OUTWARD[:, ::-1])


def test_a_tetrahedron_has_a_sixth_of_its_cube() -> None:
    assert mesh_volume_mm3(TETRA + 1000.0, OUTWARD) == pytest.approx(1.0 / 6.0, rel=1e-9)


def test_a_difference_of_boxes_is_the_rest() -> None:
    outer, inner = straight(*[rectangle(40.0, 40.0, CornerRadii(0, 0, 0, 0))] * 2), straight(circle(20.0), circle(20.0))
    rest = less(solid_of(outer), solid_of(inner))
    assert rest is not None
    assert rest.volume_mm3 == pytest.approx((40.0**2 - pi * 10.0**2) * 60.0, rel=3e-4)


def test_nothing_is_left_of_a_solid_less_a_larger_one() -> None:
    assert less(solid_of(straight(circle(20.0), circle(20.0))), solid_of(straight(circle(30.0), circle(30.0)))) is None


def test_a_difference_with_an_open_mesh_is_refused() -> None:
    open_mesh = Solid(TETRA, OUTWARD[:3], 0.1)
    with pytest.raises(SolidError, match="could not be taken apart"):
        less(solid_of(SURFACES["pipe"]), open_mesh)
