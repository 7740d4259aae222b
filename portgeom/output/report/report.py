"""What is the one file with all of it, for the bench and for the customer?

A page that stands alone: no font, no picture, no script, nothing at all comes from anywhere else, and its own policy
forbids it. It is whole without its script, which turns pictures and links charts. The same job makes the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

from portgeom import __version__
from portgeom.geometry.at_once import at_once
from portgeom.output.charts.charts import Drawing, cutting_drawings, drawings
from portgeom.output.charts.flow_chart import flow_drawing
from portgeom.output.charts.match_drawings import match_drawings
from portgeom.output.charts.sheet_svg import svg_of
from portgeom.output.files.whole_file import refuse_if_there, write_whole
from portgeom.output.report.compare import compare_section, learnt_section, progress_section
from portgeom.output.report.css import CSS
from portgeom.output.report.cutting import cutting_section
from portgeom.output.report.flow import beside_section, flow_section
from portgeom.output.report.glance import FEW, answers_card, glance_card, glance_table
from portgeom.output.report.head import quote_section, receipt_section, valves_section
from portgeom.output.report.match import match_section
from portgeom.output.report.page import MADE_HERE, page
from portgeom.output.report.port_data import cells_for
from portgeom.output.report.propose import propose_section
from portgeom.output.report.reach import reach_section
from portgeom.output.report.script import script
from portgeom.output.report.shown_states import shown_states
from portgeom.output.report.tables import tables
from portgeom.output.report.uncertainty import uncertainty_section
from portgeom.output.report.view import again, reading_section, view_data, view_section
from portgeom.output.report.walls import state_words, walls_section
from portgeom.output.report.words import METHOD, accuracy_words, assumed
from portgeom.output.scene.hazard_shapes import HazardShape, hazard_shapes
from portgeom.output.scene.painted import hidden
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.projection import VIEWS, ViewName
from portgeom.output.scene.still import still
from portgeom.output.words.cautions import CAUTIONS
from portgeom.output.words.first_words import Answer, first_answers
from portgeom.output.words.flow_shown import flow_shown
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, text
from portgeom.output.words.shown import Shown
from portgeom.output.words.text import target_words
from portgeom.questions.compare.progress import Progress
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.walls.walls import WallMap, Walls
from portgeom.questions.whole import Answers
from portgeom.questions.whole_job import WholeJob, WholeStage


def write_report(whole: WholeJob, path: FilePath, *, force: bool = False) -> None:
    """Write the report on some stages of a job's ports as one HTML file, whole or not at all.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    refuse_if_there(path, force=force)
    write_whole(path, report_page(whole).encode("utf-8"), force=force)


def report_page(whole: WholeJob) -> str:
    """Return the report as the text of an HTML page."""
    shown = Shown(whole.units)
    told = [s for s in job_sections(whole, shown) if s.html]
    cells = cells_for(whole)
    ports = at_once(lambda k: _told_port(whole, whole.stages[k], k + 1, shown, cells), len(whole.stages))
    body = join(
        (
            _head(whole, told),
            element(
                "main",
                glance_table(
                    [_name(s.answers) for s in whole.stages],
                    [f"#port-{k}" for k in range(1, len(whole.stages) + 1)],
                    [p.told for p in ports],
                ),
                element("section", join(p.glance for p in ports), class_="ports", aria_label="At a glance"),
                element("section", join(p.answers for p in ports), class_="ports", aria_label="Answers"),
                join(p.whole for p in ports),
                join(element("section", element("h2", text(s.title)), s.html, id=s.key) for s in told),
            ),
            element("footer", text(f"Made by portgeom {__version__} from the readings in the job folder.")),
        )
    )
    return page(whole.job.title, CSS, body, mark=Html(MADE_HERE), script=script())


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the page with its key (one word, for links), its title, and what it says; left out where empty."""

    key: str
    title: str
    html: Html


def stage_sections(
    whole: WholeJob, stage: WholeStage, figures: Mapping[str, Html], shown: Shown
) -> tuple[Section, ...]:
    """Return what is said of one stage of a port below its pictures, in the order to read it.

    Parameters
    ----------
    figures : mapping of str to Html
        The drawings of this stage by name; nothing where there is nothing to draw.
    """
    answer, cutting = stage.answers, stage.cutting
    passes, behind, walls = (figures.get(name, EMPTY) for name in ("passes", "behind", "walls"))
    return (
        Section("cutting", "Cutting", cutting_section(answer, cutting, passes, shown)),
        Section("walls", "Behind the walls", walls_section(answer, cutting, join((behind, walls)), shown)),
        Section("reach", "Reach", reach_section(answer, cutting, shown)),
        Section("progress", "Progress", _progress(stage, shown)),
        Section("sure", "How sure", uncertainty_section(answer, stage.sure, shown)),
        Section("flow", "Flow", flow_section(whole.job, stage.flow, figures.get("flow", EMPTY), shown)),
        Section("match", "Match", match_section(stage.match, _match_figures(figures), shown)),
        Section("tables", "Tables", join((element("h3", text("Tables")), tables(answer, shown)))),
    )


def _match_figures(figures: Mapping[str, Html]) -> Html:
    return join(figures[name] for name in ("match", "milling") if name in figures)


def job_sections(whole: WholeJob, shown: Shown) -> tuple[Section, ...]:
    """Return what is said of the whole job below its ports, in the order to read it."""
    answers, cuttings = [s.answers for s in whole.stages], [s.cutting for s in whole.stages]
    flows = [s.flow for s in whole.stages if s.flow is not None]
    return (
        Section("learnt", "Learnt from the stages", learnt_section(_progresses(whole), shown)),
        Section("compare", "Ports side by side", _comparisons(whole, shown)),
        Section("beside", "Flow side by side", beside_section(whole.flow_beside, flows, shown)),
        Section("proposed", "Proposed targets", propose_section(whole.job, whole.proposed, shown)),
        Section("receipt", "The head as it came in", receipt_section(whole.job, shown)),
        Section("valves", "Valve job and chamber", valves_section(whole.head, shown)),
        Section("quote", "Quote", quote_section(whole.head.quote)),
        Section("assumed", "What was assumed", items(assumed(whole.job, answers, cuttings, shown))),
        Section(
            "method",
            "How the figures were made",
            join((items(METHOD), paragraph(accuracy_words(whole.job, shown)))),
        ),
        Section("cautions", "Cautions", cautions_section()),
    )


def _name(answer: Answers) -> str:
    return f"Port {answer.port.port.name}, {answer.stage.stage.name}"


def _head(whole: WholeJob, told: Sequence[Section]) -> Html:
    links = [(f"port-{k}", _name(s.answers)) for k, s in enumerate(whole.stages, 1)]
    links += [(s.key, s.title) for s in told]
    count = len({s.answers.port.port.name for s in whole.stages})
    return element(
        "header",
        element("h1", text(whole.job.title)),
        element(
            "p",
            text(
                f"{count} port{'s' if count != 1 else ''}, {whole.job.material}. What the metal looks like now, what "
                "is wanted, and what stands between."
            ),
            class_="quiet",
        ),
        element(
            "nav",
            element("ul", join(element("li", element("a", text(words), href=f"#{name}")) for name, words in links)),
            aria_label="On this page",
        ),
        id="top",
    )


@dataclass(frozen=True, slots=True)
class _ToldPort:
    """What the page says of one stage of a port: at a glance, in its answers, and in a section of its own."""

    told: tuple[Answer, ...]
    glance: Html
    answers: Html
    whole: Html


def _told_port(whole: WholeJob, stage: WholeStage, number: int, shown: Shown, cells: int) -> _ToldPort:
    told = first_answers(whole.job, stage.answers, stage.cutting, shown)
    return _ToldPort(
        told=told,
        glance=glance_card(
            _name(stage.answers),
            f"#port-{number}",
            _picture(stage.answers, f"p{number}", shown),
            told,
            alone=len(whole.stages) <= FEW,
        ),
        answers=answers_card(_name(stage.answers), target_words(stage.answers.port), told),
        whole=_stage(whole, stage, number, shown, cells),
    )


def stage_figures(stage: WholeStage, shapes: Sequence[HazardShape], prefix: str, shown: Shown) -> dict[str, Html]:
    """Return the drawings that stand in the sections of one stage, by name; ``prefix`` keeps their ids apart."""
    answer, cutting = stage.answers, stage.cutting
    done_map = cutting.finished_map() if cutting.hazards else None
    drawn = (
        *cutting_drawings(answer, cutting, shown, done_map=done_map),
        *match_drawings(stage.match, answer.port.port, shown),
    )
    figures = {d.name: _drawn(d, prefix) for d in drawn}
    if stage.flow is not None:
        drawing = flow_drawing([stage.flow], flow_shown(shown, [stage.flow.state], None))
        figures[drawing.name] = _drawn(drawing, prefix)
    if done_map is not None:
        figures["behind"] = _behind(answer, cutting.finished, done_map, shapes, prefix, shown)
    return figures


def shapes_behind(whole: WholeJob, stage: WholeStage) -> tuple[HazardShape, ...]:
    """Return what lies behind the walls of a stage's port, as it is drawn."""
    return hazard_shapes(stage.cutting.hazards, stage.cutting.finished.surface, whole.job.folder)


def _stage(whole: WholeJob, stage: WholeStage, number: int, shown: Shown, cells: int) -> Html:
    """Return all about one stage of a port: links, pictures, and what is said of it."""
    answer = stage.answers
    name, prefix = f"port-{number}", f"p{number}"
    shapes = shapes_behind(whole, stage)
    seen = shown_states(stage, whole.units)
    figures = stage_figures(stage, shapes, prefix, shown)
    told = [s for s in stage_sections(whole, stage, figures, shown) if s.html]
    band = None if stage.sure is None else stage.sure.band
    places = [("top", "All ports"), *((f"{name}-{s.key}", s.title) for s in told)]
    links = join(element("li", element("a", text(words), href=f"#{place}")) for place, words in places)
    return element(
        "section",
        element("h2", text(_name(answer))),
        element("nav", element("ul", links), aria_label=f"On {_name(answer)}"),
        element(
            "div",
            element(
                "div",
                element(
                    "div",
                    view_section(name, whole, stage, seen, again(f"{prefix}-still"), answer.stage.stage.name),
                    join(_drawn(d, prefix) for d in drawings(answer, shown, whole.job.limits, band=band)),
                    class_="pictures",
                ),
                join(element("div", s.html, id=f"{name}-{s.key}", class_=f"{s.key}-part") for s in told),
                class_="told-part",
            ),
            reading_section(name, whole, stage, shown),
            class_="read-along",
        ),
        view_data(name, whole, stage, seen, shapes, cells),
        id=name,
        class_="port",
    )


def _behind(
    answer: Answers, done: Walls, done_map: WallMap, shapes: Sequence[HazardShape], prefix: str, shown: Shown
) -> Html:
    """Return the picture of what lies behind the walls once all is done."""
    scene = wall_scene(answer, shown.units, done, done_map, shapes)
    # from where the thinnest wall is seen; from above and the right where it is seen from nowhere
    ways: tuple[ViewName, ...] = ("roof", "left", "seat", "entry")
    view = next((v for v in ways if scene.pin and not hidden(scene, VIEWS[v], scene.pin.place_mm)), ways[0])
    named = ", ".join(s.name for s in shapes) or "none of them near"
    words = f"{scene.title} {VIEWS[view].words}, coloured by the metal left behind the wall, with {named}."
    image = Html(svg_of(still(scene, view=view), name=f"{prefix}-behind", describe=words))
    return _figure("behind", f"What lies behind the walls, {state_words(done)}", "drawn as through glass", image)


def _progress(stage: WholeStage, shown: Shown) -> Html:
    answer = stage.answers
    told = progress_section(stage.progress, answer.port.port, bench_scale(answer.stage.surface), shown)
    return join((element("h3", text("Progress")), told)) if told else EMPTY


def _progresses(whole: WholeJob) -> list[Progress]:
    return [s.progress for s in whole.stages if s.progress is not None]


def _comparisons(whole: WholeJob, shown: Shown) -> Html:
    return join(compare_section(c, f"compare-{k}", shown) for k, c in enumerate(whole.comparisons, 1))


def _picture(answer: Answers, prefix: str, shown: Shown) -> Html:
    """Return the still picture of a port: what it looks like from above, its roof coloured by height."""
    scene = port_scene(answer, shown.units)
    words = (
        f"{scene.title} from above, its roof coloured by height over the line; at the peak it is "
        f"{shown.proud(answer.roof.peak.proud_mm)}."
    )
    return Html(svg_of(still(scene, view="roof"), name=f"{prefix}-still", describe=words, shared=True))


def _drawn(drawing: Drawing, prefix: str) -> Html:
    return _figure(drawing.name, drawing.title, drawing.convention, Html(drawing.svg(prefix)))


def _figure(name: str, title: str, convention: str, drawing: Html) -> Html:
    return element(
        "figure",
        element("figcaption", text(f"{title}: "), element("span", text(convention))),
        element("div", drawing, class_="draw", tabindex="0", role="group", aria_label=title),
        class_=name,
    )


def cautions_section() -> Html:
    """Return what to beware of in the work."""
    rows = [join((element("dt", text(c.about)), element("dd", text(c.words)))) for c in CAUTIONS]
    return element("dl", join(rows), class_="cautions")
