"""What is the report for those who want paper: the same answers, pictures, charts and tables on numbered pages?"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, PageBreak

from portgeom import __version__
from portgeom.output.charts.charts import drawings
from portgeom.output.charts.sheet import Sheet
from portgeom.output.paper.paper import Paper
from portgeom.output.paper.printed_document import Styles, printed_document, room_pt, styles, words
from portgeom.output.paper.printed_figure import PrintedFigure
from portgeom.output.paper.printed_markup import HALF, WHOLE, printed_markup, together
from portgeom.output.report.report import Section, job_sections, shapes_behind, stage_figures, stage_sections
from portgeom.output.scene.port_scene import port_scene
from portgeom.output.scene.still import still
from portgeom.output.words.first_words import first_answers
from portgeom.output.words.shown import Shown
from portgeom.output.words.text import target_words
from portgeom.questions.whole_job import WholeJob, WholeStage


def report_pdf(whole: WholeJob, *, paper: Paper = "a4") -> bytes:
    """Return the report on some stages of a job's ports as a PDF; the same job makes the same bytes."""
    look, shown = styles(), Shown(whole.units)
    flow = _front(whole, look, shown)
    for stage in whole.stages:
        flow += [PageBreak(), *_stage(whole, stage, look, shown, paper)]
    flow.append(PageBreak())
    for section in job_sections(whole, shown):
        flow += _section(section, look, paper)
    title = f"{whole.job.title}: report"
    foot = f"Made by portgeom {__version__} from the readings in the job folder. {whole.job.title}"
    return printed_document(title, foot, flow, paper=paper)


def _name(stage: WholeStage) -> str:
    return f"Port {stage.answers.port.port.name}, {stage.answers.stage.stage.name}"


def _front(whole: WholeJob, look: Styles, shown: Shown) -> list[Flowable]:
    """Return the first answers of every stage."""
    count = len({s.answers.port.port.name for s in whole.stages})
    about = (
        f"{count} port{'s' if count != 1 else ''}, {whole.job.material}. What the metal looks like now, what is "
        "wanted, and what stands between."
    )
    flow: list[Flowable] = [words(whole.job.title, look.title), words(about, look.quiet)]
    for stage in whole.stages:
        flow.append(words(_name(stage), look.h2))
        flow.append(words(f"Held against {target_words(stage.answers.port)}.", look.quiet))
        for answer in first_answers(whole.job, stage.answers, stage.cutting, shown):
            figure = answer.figure[:1].upper() + answer.figure[1:]
            said = [words(w, look.body) for w in answer.words]
            flow.append(together([words(answer.question, look.question), words(figure, look.figure), *said]))
    return flow


def _stage(whole: WholeJob, stage: WholeStage, look: Styles, shown: Shown, paper: Paper) -> list[Flowable]:
    answer = stage.answers
    flow: list[Flowable] = [words(_name(stage), look.h2)]
    picture = still(port_scene(answer, shown.units))
    flow.append(
        _chart("The port from outside", "as a mould of the passage: what hangs is a dent", picture, look, paper)
    )
    band = None if stage.sure is None else stage.sure.band
    drawn = drawings(answer, shown, whole.job.limits, band=band)
    flow += [_chart(d.title, d.convention, d.drawn, look, paper) for d in drawn]
    figures = stage_figures(stage, shapes_behind(whole, stage), "p", shown)
    for section in stage_sections(whole, stage, figures, shown):
        flow += _section(section, look, paper, titled=False)
    return flow


def _chart(title: str, convention: str, drawn: Sheet, look: Styles, paper: Paper) -> Flowable:
    wide, tall = room_pt(paper)
    most = WHOLE if drawn.height > drawn.width else HALF
    figure = PrintedFigure(drawn, wide_pt=wide, most_tall_pt=most * tall)
    return together([words(f"{title}: {convention}", look.caption), figure])


def _section(section: Section, look: Styles, paper: Paper, *, titled: bool = True) -> Sequence[Flowable]:
    if not section.html:
        return []
    wide, tall = room_pt(paper)
    head = [words(section.title, look.h2)] if titled else []
    return [*head, *printed_markup(section.html, look, wide_pt=wide, tall_pt=tall)]
