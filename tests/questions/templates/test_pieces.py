"""Pieces to cut out: areas by closed forms, which way round they lie, and what cannot be cut."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, ellipse, rectangle
from portgeom.job.values import Line, Target
from portgeom.questions.templates.pieces import NoSuchPiece, Piece, moved_out, section_pieces
from portgeom.questions.templates.sections import NotOnThePort, PlacedSection, sections_at, stations
from portgeom.questions.whole import Answers

Ask = Callable[..., Answers]


def placed(outline: Outline, wanted: Outline, *, turned: bool = False) -> PlacedSection:
    return PlacedSection("3", "", 20.0, outline.points_mm, wanted.points_mm, turned)


def only(piece: tuple[Piece, ...]) -> Piece:
    assert len(piece) == 1
    return piece[0]


SMALL = rectangle(36.0, 46.0, CornerRadii(6.0, 6.0, 6.0, 6.0))
LARGE = rectangle(40.0, 50.0, CornerRadii(8.0, 8.0, 8.0, 8.0))


def test_an_outline_moved_out_grows_by_steiners_formula() -> None:
    # J. Steiner 1840: a convex region moved out by a grows by P a + pi a2; from memory
    for a in (0.1, 0.5, 2.0):
        area = float(polygon_moments(moved_out(LARGE.points_mm, a)).area_mm2)
        assert area == pytest.approx(LARGE.area_mm2 + LARGE.perimeter_mm * a + np.pi * a**2, rel=2e-5)


def test_an_outline_moved_in_is_the_smaller_shape_of_the_same_kind() -> None:
    # a rounded rectangle less a all round is a rounded rectangle with radii less a
    area = float(polygon_moments(moved_out(LARGE.points_mm, -0.7)).area_mm2)
    assert area == pytest.approx(rectangle(38.6, 48.6, CornerRadii(7.3, 7.3, 7.3, 7.3)).area_mm2, rel=1e-4)


def test_go_goes_into_the_wanted_outline_and_no_go_stands_over_it_by_the_allowance_all_round() -> None:
    import shapely

    go, no_go = section_pieces([placed(SMALL, LARGE)], {"go", "no-go"}, allowance_mm=0.3)
    wanted = shapely.LinearRing(LARGE.points_mm)
    for piece, inside in ((go, True), (no_go, False)):
        off = shapely.distance(shapely.points(piece.cut_mm), wanted)
        assert off == pytest.approx(0.3, abs=0.01)
        assert shapely.Polygon(LARGE.points_mm).contains(shapely.Polygon(piece.cut_mm)) is inside
        assert piece.allowance_mm == 0.3


def test_an_allowance_that_leaves_nothing_is_refused_with_the_station() -> None:
    with pytest.raises(NoSuchPiece, match="station 3"):
        section_pieces([placed(SMALL, SMALL)], {"go"}, allowance_mm=18.5)


def test_the_roof_gauge_of_an_ellipse_about_the_path_is_its_upper_half() -> None:
    whole = ellipse(40.0, 50.0)
    roof = only(section_pieces([placed(whole, whole)], {"roof"}))
    assert roof.area_mm2 == pytest.approx(np.pi * 20.0 * 25.0 / 2.0, rel=2e-4)
    assert roof.cut_mm[:, 1].min() == pytest.approx(0.0, abs=1e-9)


def test_the_roof_gauge_of_a_section_far_from_the_path_is_cut_at_half_its_height() -> None:
    high = Outline.polygon(LARGE.points_mm + (0.0, 40.0))
    roof = only(section_pieces([placed(high, high)], {"roof"}))
    assert roof.cut_mm[:, 1].min() == pytest.approx(40.0)


def test_from_the_chamber_left_and_right_swap_and_areas_stay() -> None:
    slanted = Outline.polygon([(-20.0, -20.0), (15.0, -20.0), (20.0, 20.0), (-12.0, 25.0)])
    face, chamber = (only(section_pieces([placed(slanted, slanted, turned=t)], {"plug"})) for t in (False, True))
    assert chamber.from_chamber
    assert not face.from_chamber
    swapped = {(-u, v) for u, v in face.cut_mm.tolist()}
    assert {(u, v) for u, v in chamber.cut_mm.tolist()} == swapped
    assert chamber.area_mm2 == pytest.approx(face.area_mm2)  # anticlockwise again, so not less than nothing


def test_the_other_outline_is_shown_where_it_leaves_the_edge_only() -> None:
    same_floor = Outline.polygon([(-20.0, -25.0), (20.0, -25.0), (20.0, 20.0), (-20.0, 20.0)])
    taller = Outline.polygon([(-20.0, -25.0), (20.0, -25.0), (20.0, 25.0), (-20.0, 25.0)])
    plug = only(section_pieces([placed(same_floor, taller)], {"plug"}))
    points = np.concatenate(plug.also_mm)
    assert points[:, 1].min() == pytest.approx(20.0, abs=0.5)
    assert only(section_pieces([placed(taller, taller)], {"plug"})).also_mm == ()


def test_stations_give_the_outlines_themselves(ask: Ask) -> None:
    answer = ask([0.0, 40.0, 80.0], [SMALL, LARGE, SMALL])
    found = stations(answer.port, answer.stage, answer.wanted)
    assert [s.station for s in found] == ["1", "2", "3"]
    assert [s.distance_mm for s in found] == [0.0, 40.0, 80.0]
    assert found[1].present_mm.tolist() == LARGE.points_mm.tolist()


def test_between_stations_a_cone_has_the_radius_of_its_place(ask: Ask) -> None:
    answer = ask([0.0, 100.0], [ellipse(40.0, 40.0), ellipse(50.0, 50.0)])
    for s in (13.3, 50.0, 77.77):
        (section,) = sections_at(answer.port, answer.stage, answer.wanted, [s])
        assert section.station == ""
        area = float(polygon_moments(section.present_mm).area_mm2)
        assert area == pytest.approx(np.pi * (20.0 + 0.05 * s) ** 2, rel=5e-4)


def test_a_target_is_the_plug_gauge(ask: Ask) -> None:
    # the roof 2 mm up, walls carried on: the wanted section is 40 by 52
    sharp = rectangle(40.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0))
    target = Target("up", roof=Line(np.array([[0.0, 27.0], [80.0, 27.0]])))
    answer = ask([0.0, 40.0, 80.0], [sharp] * 3, target=target)
    pieces = section_pieces(stations(answer.port, answer.stage, answer.wanted), {"plug", "cast"})
    assert [p.area_mm2 for p in pieces] == pytest.approx([40.0 * 52.0, 40.0 * 50.0] * 3, rel=1e-3)


def test_sections_after_the_turn_are_worked_from_the_chamber(ask: Ask) -> None:
    pitch = np.linspace(0.0, 80.0, 9)
    answer = ask(np.radians(pitch) * 80.0, [LARGE] * 9, pitch_deg=pitch)
    turned = [s.turned for s in stations(answer.port, answer.stage, answer.wanted)]
    assert turned == [p > 45.0 for p in pitch]


def test_a_distance_off_the_port_is_refused(ask: Ask) -> None:
    answer = ask([0.0, 40.0], [SMALL, SMALL])
    with pytest.raises(NotOnThePort, match="from 0 to 40 mm"):
        sections_at(answer.port, answer.stage, answer.wanted, [41.0])
