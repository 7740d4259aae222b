"""The report on paper says what the page on the screen says, on every kind of paper, for every kind of job."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from portgeom.output.paper.paper import PAPER_MM, POINTS_PER_MM, Paper
from portgeom.output.paper.report_pdf import report_pdf
from portgeom.output.words.first_words import first_answers
from portgeom.output.words.shown import Shown
from portgeom.questions.whole_cutting import cutting
from portgeom.questions.whole_job import WholeJob, WholeStage


def whole(asked) -> WholeJob:  # type: ignore[no-untyped-def]
    stages = tuple(WholeStage(a, cutting(asked.job, a, units="mm")) for a in asked.answers)
    return WholeJob(asked.job, "mm", tuple(a.port for a in asked.answers), stages)


def squeezed(words: str) -> str:
    return "".join(words.split())


@pytest.fixture(scope="module")
def made(drilled) -> WholeJob:  # type: ignore[no-untyped-def]
    return whole(drilled)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_are_of_the_paper_and_hold_the_first_answers(made: WholeJob, paper: Paper) -> None:
    reader = PdfReader(io.BytesIO(report_pdf(made, paper=paper)))
    for page in reader.pages:
        size = float(page.mediabox.width), float(page.mediabox.height)
        assert size == pytest.approx([mm * POINTS_PER_MM for mm in PAPER_MM[paper]], abs=0.01)
    said = squeezed("".join(page.extract_text() for page in reader.pages))
    stage = made.stages[0]
    for answer in first_answers(made.job, stage.answers, stage.cutting, Shown("mm")):
        for words in (answer.question, *answer.words):
            assert squeezed(words) in said
    for heading in ("Depthcard", "Behindthewalls", "Whatwasassumed", "Cautions"):
        assert heading in said


def test_charts_are_lines_with_their_letters_not_pictures(made: WholeJob) -> None:
    reader = PdfReader(io.BytesIO(report_pdf(made)))
    pictures = sum(len(page.images) for page in reader.pages)
    said = "".join(page.extract_text() for page in reader.pages)
    assert "distance along the path" in said
    assert pictures <= 12  # painted ports, maps and colour bars, which are images by nature


def test_a_job_with_nothing_to_cut_and_nothing_behind_it_prints(past) -> None:  # type: ignore[no-untyped-def]
    said = "".join(p.extract_text() for p in PdfReader(io.BytesIO(report_pdf(whole(past)))).pages)
    assert "Depth card" not in said
    assert "past the line" in said


def test_names_of_any_kind_break_no_page(made: WholeJob) -> None:
    name = "<script>alert(1)</script> שער \u202e\U0001f9ff\x00 " + "x" * 300
    stage = made.stages[0]
    port = replace(stage.answers.port, port=replace(stage.answers.port.port, name=name, left_wall=name))
    answers = replace(stage.answers, port=port)
    job = replace(made.job, title=name)
    renamed = replace(made, job=job, stages=(replace(stage, answers=answers),))
    pages = PdfReader(io.BytesIO(report_pdf(renamed))).pages
    assert len(pages) > 4
    assert any("<script>" in page.extract_text() for page in pages)


def test_the_same_job_is_the_same_bytes(made: WholeJob) -> None:
    assert report_pdf(made) == report_pdf(made)
