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
from portgeom.output.cautions import CAUTIONS
from portgeom.output.charts import drawings
from portgeom.output.drawn_scene import drawn_for_page
from portgeom.output.first_words import first_answers
from portgeom.output.markup import Html, element, items, join, paragraph, text
from portgeom.output.port_scene import port_scene
from portgeom.output.report_css import CSS
from portgeom.output.report_tables import tables
from portgeom.output.report_words import METHOD, accuracy_words, assumed
from portgeom.output.shown import Shown
from portgeom.output.text import target_words
from portgeom.output.whole_file import write_whole
from portgeom.questions.whole import Answers

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"

MADE_HERE = '<meta name="generator" content="portgeom report">'
"""Tells a report from a page that a person wrote, which is never written over unasked."""


def is_report(path: FilePath) -> bool:
    """Return whether a file is there and is a report made here, which may be made again in its place."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return MADE_HERE.encode("ascii") in file.read(4096)


def write_report(
    job: Job, answers: Sequence[Answers], path: FilePath, *, units: Units | None = None, force: bool = False
) -> None:
    """Write the report on some stages of a job's ports as one HTML file, whole or not at all.

    Parameters
    ----------
    answers : sequence of Answers
        One for every stage to report on, in the order to show them.
    units : "mm" or "in", optional
        The job's own if left out.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    write_whole(path, report_page(job, answers, units=units).encode("utf-8"), force=force)


def report_page(job: Job, answers: Sequence[Answers], *, units: Units | None = None) -> str:
    """Return the report as the text of an HTML page."""
    shown = Shown(units or job.units)
    body = join(
        (
            _head(job, answers),
            element(
                "main",
                _first_screen(job, answers, shown),
                join(_port(job, a, k, shown) for k, a in enumerate(answers, 1)),
                _section("assumed", "What was assumed", items(assumed(job, answers, shown))),
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
    head = join(
        (
            Html('<meta charset="utf-8">'),
            Html(f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'),
            Html('<meta name="viewport" content="width=device-width, initial-scale=1">'),
            Html('<meta name="referrer" content="no-referrer">'),
            Html(MADE_HERE),
            element("title", text(job.title)),
            element("style", Html(CSS)),
        )
    )
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n<body>\n{body}\n</body>\n</html>\n'


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


def _first_screen(job: Job, answers: Sequence[Answers], shown: Shown) -> Html:
    return element("section", join(_answers(job, a, shown) for a in answers), class_="ports", aria_label="Answers")


def _answers(job: Job, answer: Answers, shown: Shown) -> Html:
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
        for a in first_answers(job, answer, shown)
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


def _port(job: Job, answer: Answers, number: int, shown: Shown) -> Html:
    prefix = f"p{number}"
    return element(
        "section",
        element("h2", text(_name(answer))),
        _picture(answer, shown),
        join(_figure(d.name, d.title, d.convention, Html(d.svg(prefix))) for d in drawings(answer, shown, job.limits)),
        element("div", element("h3", text("Tables")), tables(answer, shown), class_="tables"),
        id=f"port-{number}",
        class_="port",
    )


def _picture(answer: Answers, shown: Shown) -> Html:
    scene = port_scene(answer, shown.units)
    made = drawn_for_page(scene, view="roof")
    data = base64.b64encode(made.data).decode("ascii")
    words = (
        f"{scene.title} from above, its roof coloured by height over the line; at the peak it is "
        f"{shown.proud(answer.roof.peak.proud_mm)}."
    )
    image = Html(f'<img alt="{text(words)}" src="data:{made.media_type};base64,{data}">')
    return _figure(
        "outside", "The port from outside", "the passage as a mould of it would look: what hangs is a dent", image
    )


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
