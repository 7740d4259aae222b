"""A traced outline is one plain curve, anticlockwise, and what was done to make it so is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.job.faults import Gathered, Spot
from portgeom.job.files import Folder
from portgeom.job.outlines import MOST_POINTS, read_outline
from portgeom.job.values import Units

L_SHAPE = [(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 40.0), (0.0, 40.0)]
L_AREA = 30.0 * 10.0 + 10.0 * 30.0


def read(folder: Path, points: list[tuple[float, float]], *, units: Units = "mm") -> tuple[Outline | None, Gathered]:
    gathered = Gathered()
    text = "u,v\n" + "".join(f"{u},{v}\n" for u, v in points)
    (folder / "o.csv").write_text(text, encoding="utf-8")
    return read_outline("o.csv", Spot(gathered, "t.csv", 2, "outline"), folder=Folder(folder), units=units), gathered


@pytest.mark.parametrize("first", range(6))
def test_an_anticlockwise_trace_is_taken_as_it_is(tmp_path: Path, first: int) -> None:
    outline, gathered = read(tmp_path, L_SHAPE[first:] + L_SHAPE[:first])
    assert outline is not None
    assert outline.area_mm2 == pytest.approx(L_AREA)
    assert gathered.notes == ()


def test_a_clockwise_trace_is_turned_round_and_told(tmp_path: Path) -> None:
    outline, gathered = read(tmp_path, L_SHAPE[::-1])
    assert outline is not None
    assert np.array_equal(outline.points_mm, L_SHAPE)
    assert [(n.file, n.row, n.found) for n in gathered.notes] == [
        ("o.csv", None, "runs clockwise as seen looking in; it was turned round")
    ]


def test_a_repeated_end_is_left_out_and_told(tmp_path: Path) -> None:
    outline, gathered = read(tmp_path, [*L_SHAPE, L_SHAPE[0]])
    assert outline is not None
    assert np.array_equal(outline.points_mm, L_SHAPE)
    assert [(n.row, n.found) for n in gathered.notes] == [(8, "repeats the first point; it was left out")]


def test_points_repeated_on_the_way_are_left_out_and_told(tmp_path: Path) -> None:
    outline, gathered = read(tmp_path, [*L_SHAPE[:3], L_SHAPE[2], *L_SHAPE[3:]])
    assert outline is not None
    assert np.array_equal(outline.points_mm, L_SHAPE)
    assert [n.row for n in gathered.notes] == [5]


def test_inches_become_millimetres(tmp_path: Path) -> None:
    outline, _ = read(tmp_path, [(u / 25.4, v / 25.4) for u, v in L_SHAPE], units="in")
    assert outline is not None
    assert outline.area_mm2 == pytest.approx(L_AREA)


@pytest.mark.parametrize(
    "points",
    [
        [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)],
        [*L_SHAPE[:4], (10.0, 0.0), *L_SHAPE[4:]],
        [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)],
        [(0.0, 0.0), (1e-9, 0.0), (0.0, 1e-9)],
        [(5.0, 5.0)] * 6,
        L_SHAPE[:2],
    ],
    ids=["crossing", "touching", "one line", "a speck", "one point", "two points"],
)
def test_what_is_no_plain_curve_is_refused(tmp_path: Path, points: list[tuple[float, float]]) -> None:
    outline, gathered = read(tmp_path, points)
    assert outline is None
    assert [f.file for f in gathered.faults] == ["o.csv"]


def test_a_crossing_is_told_with_its_place(tmp_path: Path) -> None:
    _, gathered = read(tmp_path, [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0), (-5.0, 5.0)])
    assert gathered.faults[0].found == "crosses or touches itself at u 5.00, v 5.00 mm"


def test_points_are_bounded_in_number(tmp_path: Path) -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, MOST_POINTS + 1, endpoint=False)
    points = [(20.0 * float(np.cos(a)), 20.0 * float(np.sin(a))) for a in angle]
    outline, gathered = read(tmp_path, points)
    assert outline is None
    assert [(f.row, f.mend) for f in gathered.faults] == [(MOST_POINTS + 2, f"give at most {MOST_POINTS}")]
