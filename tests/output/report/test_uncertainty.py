"""The report's words on how sure its figures are, and the band in its chart of areas."""

from __future__ import annotations

import re

import numpy as np
import pytest

from portgeom.output.charts.area_chart import area_chart, draw_area
from portgeom.output.charts.sheet import Region
from portgeom.output.report.uncertainty import uncertainty_section
from portgeom.output.words.markup import EMPTY
from portgeom.output.words.shown import Shown
from portgeom.questions.uncertainty.prepared import Known
from portgeom.questions.uncertainty.sure import stage_sure


@pytest.fixture(scope="module")
def sure(boss):
    answer = boss.answers[0]
    known = Known(answer.roof, answer.removal)
    parts = ("roof", "metal")
    return stage_sure(
        boss.job, [answer.port], answer.port, answer.stage, draws=80, parts=parts, known=known, ranked=True
    )


def test_nothing_is_said_where_no_draws_were_asked_for(boss):
    assert uncertainty_section(boss.answers[0], None, Shown("mm")) == EMPTY


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_figure_has_a_row_and_no_number_is_none(boss, sure, units):
    html = uncertainty_section(boss.answers[0], sure, Shown(units))
    told = re.sub(r"<[^>]+>", " ", str(html)).replace("&#x27;", "'")
    for words in ("volume, cc", f"smallest flow area, {units}2", "metal to remove, cc", "Surest gain for the volume"):
        assert words in told
    assert "nan" not in told.casefold()
    assert "None" not in told


def test_the_band_lies_about_the_curve_and_is_drawn(boss, sure):
    answer = boss.answers[0]
    chart = area_chart(answer.profile, Shown("mm"), band=sure.band)
    own = np.interp(chart.band[:, 0], chart.distance, chart.area)
    assert (chart.band[:, 1] < own).all()
    assert (own < chart.band[:, 2]).all()
    with_band = [m for m in draw_area(chart).marks if isinstance(m, Region)]
    without = [m for m in draw_area(area_chart(answer.profile, Shown("mm"))).marks if isinstance(m, Region)]
    assert len(with_band) == len(without) + 1
