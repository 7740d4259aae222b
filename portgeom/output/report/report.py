"""What is the one file with all of it, for the bench and for the customer?

A page that stands alone: no script, no font, no picture, nothing at all comes from anywhere else, and its
own policy forbids it. The same job makes the same bytes.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path as FilePath

from portgeom import __version__
from portgeom.job.values import Job, Units
from portgeom.output.charts.charts import Drawing, cutting_drawings, drawings
from portgeom.output.charts.figures import Picture
from portgeom.output.files.whole_file import refuse_if_there, write_whole
from portgeom.output.report.css import CSS
from portgeom.output.report.cutting import cutting_section
from portgeom.output.report.page import page
from portgeom.output.report.reach import reach_section
from portgeom.output.report.tables import tables
from portgeom.output.report.walls import state_words, walls_section
from portgeom.output.report.words import METHOD, accuracy_words, assumed
from portgeom.output.scene.drawn_scene import drawn_for_page
from portgeom.output.scene.hazard_shapes import hazard_shapes
from portgeom.output.scene.painted import hidden
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.projection import VIEWS, ViewName
from portgeom.output.words.cautions import CAUTIONS
from portgeom.output.words.first_words import first_answers
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, text
from portgeom.output.words.shown import Shown
from portgeom.output.words.text import target_words
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

MADE_HERE = '<meta name="generator" content="portgeom report">'
"""Tells a report from a page that a person wrote, which is never written over unasked."""


def is_report(path: FilePath) -> bool:
    """Return whether a file is there and is a report made here, which may be made again in its place."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return MADE_HERE.encode("ascii") in file.read(4096)


def write_report(
    job: Job,
    answers: Sequence[Answers],
    cuttings: Sequence[Cutting],
    path: FilePath,
    *,
    units: Units | None = None,
    force: bool = False,
) -> None:
    """Write the report on some stages of a job's ports as one HTML file, whole or not at all.

    Parameters
    ----------
    answers : sequence of Answers
        One for every stage to report on, in the order to show them.
    cuttings : sequence of Cutting
        One for each of them, in the same units.
    units : "mm" or "in", optional
        The job's own if left out.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    refuse_if_there(path, force=force)
    write_whole(path, report_page(job, answers, cuttings, units=units).encode("utf-8"), force=force)


def report_page(
    job: Job, answers: Sequence[Answers], cuttings: Sequence[Cutting], *, units: Units | None = None
) -> str:
    """Return the report as the text of an HTML page."""
    shown = Shown(units or job.units)
    pairs = list(zip(answers, cuttings, strict=True))
    body = join(
        (
            _head(job, answers),
            element(
                "main",
                element(
                    "section",
                    join(_answers(job, a, c, shown) for a, c in pairs),
                    class_="ports",
                    aria_label="Answers",
                ),
                join(_port(job, a, c, k, shown) for k, (a, c) in enumerate(pairs, 1)),
                _section("assumed", "What was assumed", items(assumed(job, answers, cuttings, shown))),
                _section(
                    "method",
                    "How the figures were made",
                    items(METHOD),
                    paragraph(accuracy_words(job, shown)),
                ),
                _cautions(),
            ),
            element("footer", text(f"Made by portgeom {__version__} from the readings in the job folder.")),
        )
    )
    return page(job.title, CSS, body, mark=Html(MADE_HERE))


def _section(name: str, title: str, *inside: Html) -> Html:
    return element("section", element("h2", text(title)), *inside, id=name)


def _name(answer: Answers) -> str:
    return f"Port {answer.port.port.name}, {answer.stage.stage.name}"


def _head(job: Job, answers: Sequence[Answers]) -> Html:
    links = [(f"port-{k}", _name(a)) for k, a in enumerate(answers, 1)]
    links += [("assumed", "What was assumed"), ("method", "How"), ("cautions", "Cautions")]
    count = len(answers)
    return element(
        "header",
        element("h1", text(job.title)),
        element(
            "p",
            text(
                f"{count} port{'s' if count != 1 else ''}, {job.material}. What the metal looks like now, what is "
                "wanted, and what stands between."
            ),
            class_="quiet",
        ),
        element(
            "nav",
            element("ul", join(element("li", element("a", text(words), href=f"#{name}")) for name, words in links)),
            aria_label="On this page",
        ),
    )


def _answers(job: Job, answer: Answers, cutting: Cutting, shown: Shown) -> Html:
    rows = [
        join(
            (
                element("dt", text(a.question)),
                element(
                    "dd",
                    element("p", text(_sentence(a.figure)), class_="figure"),
                    join(paragraph(words) for words in a.words),
                ),
            )
        )
        for a in first_answers(job, answer, cutting, shown)
    ]
    return element(
        "article",
        element("h2", text(_name(answer))),
        element("p", text(f"Held against {target_words(answer.port)}."), class_="quiet"),
        element("dl", join(rows)),
        class_="answers",
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _port(job: Job, answer: Answers, cutting: Cutting, number: int, shown: Shown) -> Html:
    name = f"port-{number}"
    prefix = f"p{number}"
    cut = {d.name: _drawn(d, prefix) for d in cutting_drawings(answer, cutting, shown)}
    parts = (
        ("cutting", "Cutting", cutting_section(answer, cutting, cut.get("passes", EMPTY), shown)),
        ("walls", "Behind the walls", _walls(job, answer, cutting, cut.get("walls", EMPTY), shown)),
        ("reach", "Reach", reach_section(answer, cutting, shown)),
        ("tables", "Tables", join((element("h3", text("Tables")), tables(answer, shown)))),
    )
    told = [(f"{name}-{key}", title, part) for key, title, part in parts if part]
    links = join(element("li", element("a", text(title), href=f"#{key}")) for key, title, _ in told)
    return element(
        "section",
        element("h2", text(_name(answer))),
        element("nav", element("ul", links), aria_label=f"On {_name(answer)}"),
        _picture(answer, shown),
        join(_drawn(d, prefix) for d in drawings(answer, shown, job.limits)),
        join(element("div", part, id=key, class_=f"{key.rpartition('-')[2]}-part") for key, _, part in told),
        id=name,
        class_="port",
    )


def _walls(job: Job, answer: Answers, cutting: Cutting, chart: Html, shown: Shown) -> Html:
    if not cutting.hazards:
        return EMPTY
    done = cutting.finished
    shapes = hazard_shapes(cutting.hazards, done.surface, job.folder)
    scene = wall_scene(answer, shown.units, done, cutting.finished_map(), shapes)
    # from where the thinnest wall is seen; from above and the right where it is seen from nowhere
    ways: tuple[ViewName, ...] = ("roof", "left", "seat", "entry")
    view = next((v for v in ways if scene.pin and not hidden(scene, VIEWS[v], scene.pin.place_mm)), ways[0])
    named = ", ".join(s.name for s in shapes) or "none of them near"
    words = f"{scene.title} {VIEWS[view].words}, coloured by the metal left behind the wall, with {named}."
    image = _image(drawn_for_page(scene, view=view), words)
    figure = _figure("behind", f"What lies behind the walls, {state_words(done)}", "drawn as through glass", image)
    return walls_section(answer, cutting, join((figure, chart)), shown)


def _picture(answer: Answers, shown: Shown) -> Html:
    scene = port_scene(answer, shown.units)
    words = (
        f"{scene.title} from above, its roof coloured by height over the line; at the peak it is "
        f"{shown.proud(answer.roof.peak.proud_mm)}."
    )
    image = _image(drawn_for_page(scene, view="roof"), words)
    return _figure(
        "outside", "The port from outside", "the passage as a mould of it would look: what hangs is a dent", image
    )


def _image(made: Picture, words: str) -> Html:
    data = base64.b64encode(made.data).decode("ascii")
    return Html(f'<img alt="{text(words)}" src="data:{made.media_type};base64,{data}">')


def _drawn(drawing: Drawing, prefix: str) -> Html:
    return _figure(drawing.name, drawing.title, drawing.convention, Html(drawing.svg(prefix)))


def _figure(name: str, title: str, convention: str, drawing: Html) -> Html:
    return element(
        "figure",
        element("figcaption", text(f"{title}: "), element("span", text(convention))),
        element("div", drawing, class_="draw", tabindex="0", role="group", aria_label=title),
        class_=name,
    )


def _cautions() -> Html:
    rows = [join((element("dt", text(c.about)), element("dd", text(c.words)))) for c in CAUTIONS]
    return _section("cautions", "Cautions", element("dl", join(rows), class_="cautions"))
