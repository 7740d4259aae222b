"""The chart of a comparison shows the areas that are compared, names the odd one out, and bands what readings allow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Job, SectionTable
from portgeom.model.lofted import loft_job
from portgeom.output.charts.compare_chart import compare_chart, compare_drawing, draw_compare
from portgeom.output.charts.sheet import Curve, Words
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.compare import Comparison, compare
from portgeom.questions.compare.members import Source
from portgeom.questions.uncertainty.campaign import campaign

MM, INCH = Shown("mm"), Shown("in")
STATIONS = (0.0, 50.0, 100.0)
CORNERS = CornerRadii(6.0, 6.0, 6.0, 6.0)


@pytest.fixture(scope="session")
def head(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[[Sequence[float]], Comparison]:
    """Return a function that compares ducts of several widths."""

    def of(widths: Sequence[float]) -> Comparison:
        ports = []
        for k, width in enumerate(widths, 1):
            (port,) = job_of(table_of(STATIONS, [rectangle(width, 44.0, CORNERS)] * 3)).ports
            ports.append(replace(port, name=str(k)))
        job = replace(job_of(table_of(STATIONS, [rectangle(40.0, 44.0, CORNERS)] * 3)), ports=tuple(ports))
        lofted = loft_job(job)
        return compare(
            [Source(job, lofted, tuple((p, p.cast) for p in lofted), campaign(job, lofted, draws=100, parts=()))]
        )

    return of


def words(result: Comparison) -> list[str]:
    return [m.text for m in draw_compare(compare_chart(result, MM)).marks if isinstance(m, Words)]


def test_of_two_the_difference_is_the_first_less_the_second_within_its_band(
    head: Callable[[Sequence[float]], Comparison],
) -> None:
    chart = compare_chart(head([41.0, 40.0]), MM)
    assert chart.area.shape[0] == 2
    assert chart.difference == pytest.approx(np.full(chart.difference.shape, 44.0), rel=1e-6)
    assert (chart.low < chart.difference[0]).all()
    assert (chart.high > chart.difference[0]).all()
    assert chart.two


def test_inches_are_drawn_in_inches(head: Callable[[Sequence[float]], Comparison]) -> None:
    result = head([41.0, 40.0])
    chart, inch = compare_chart(result, MM), compare_chart(result, INCH)
    assert inch.distance == pytest.approx(chart.distance / 25.4)
    assert inch.area == pytest.approx(chart.area / 25.4**2)
    assert "difference, in2" in [m.text for m in draw_compare(inch).marks if isinstance(m, Words)]


def test_of_many_the_odd_one_is_named_and_the_median_drawn(head: Callable[[Sequence[float]], Comparison]) -> None:
    result = head([40.0, 40.1, 39.9, 40.05, 44.0, 39.95])
    told = words(result)
    assert "port 5, the odd one out" in told
    assert "the other 5" in told
    assert "median" in told
    chart = compare_chart(result, MM)
    assert chart.difference[4] == pytest.approx(np.full(len(chart.distance), 4.0 * 44.0), rel=0.03)
    curves = [m for m in draw_compare(chart).marks if isinstance(m, Curve) and len(m.points) == len(chart.distance)]
    assert len(curves) == 2 * 6 + 1


def test_words_stay_on_the_sheet_and_none_is_no_number(head: Callable[[Sequence[float]], Comparison]) -> None:
    sheet = draw_compare(compare_chart(head([40.0, 40.1, 39.9, 40.05, 44.0, 39.95]), MM))
    for mark in sheet.marks:
        if isinstance(mark, Words) and not mark.turned:
            share = {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor]
            left = float(mark.at[0]) - share * mark.width
            assert left >= 0.0, mark.text
            assert left + mark.width <= sheet.width, mark.text
            assert "nan" not in mark.text
    assert sheet.cursor.shape == (2, 5)


def test_it_is_described_in_words(head: Callable[[Sequence[float]], Comparison]) -> None:
    drawing = compare_drawing(head([41.0, 40.0]), MM)
    assert (
        drawing.describe == "Flow areas of port 1, port 2 against distance, and their difference: port 1 less port 2."
    )
    assert drawing.file("svg").startswith(b"<")
