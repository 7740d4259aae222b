"""What does a report say of the flow: how fast, through what opening, what the bench read, and where it is lost?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.values import Job
from portgeom.output.words.flow_doc import (
    bench_table,
    beside_table,
    heads_table,
    losses_table,
    overlap_words,
    places_table,
    speeds_table,
    stretches_table,
    valve_table,
)
from portgeom.output.words.flow_shown import FlowShown, air_words, flow_shown
from portgeom.output.words.flow_words import (
    COEFFICIENTS,
    LIMITS,
    basis_words,
    bend_words,
    circumstances,
    cone_words,
    demand_words,
    fastest_words,
    larger_words,
    methods_words,
    missing_words,
    pair_words,
    pairs_table,
    point_notes,
    theory_words,
    throat_words,
    unlike_words,
    valve_words,
)
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.shown import Shown
from portgeom.questions.flow.side_by_side import SideBySide
from portgeom.questions.flow.whole import FlowAnswers
from portgeom.questions.shape.places import bench_scale


def flow_section(job: Job, answer: FlowAnswers | None, chart: Html, shown: Shown) -> Html:
    """Return what there is to say of the flow of one stage; nothing where the job says nothing of flow."""
    if answer is None:
        return EMPTY
    fs = flow_shown(shown, [answer.state], None)
    parts = [
        element("h3", text("Flow")),
        element("p", text(f"{LIMITS[0]} {basis_words(answer.state, fs)}")),
        _places(answer, fs),
        chart,
        _speeds(answer, fs),
        _valve(answer, fs),
        _bench(answer, fs),
        _demand(answer, fs),
        _losses(answer, fs),
        items(missing_words(answer, engine=job.engine is not None)),
    ]
    return join(p for p in parts if p)


FEW_PAIRS = 3
"""As many differences are told in words; of more there is a table."""


def beside_section(beside: SideBySide | None, answers: Sequence[FlowAnswers], shown: Shown) -> Html:
    """Return siblings and stages at one depression and the limits of the method; nothing without any flow."""
    if not answers:
        return EMPTY
    states = [a.state for a in answers]
    fs = flow_shown(shown, states, None)
    parts = []
    if beside is not None and len(beside.states) > 1:
        head, rows = beside_table(beside, fs, states[0])
        caption = f"Ports and stages at {fs.pressure(beside.depression_pa)}"
        parts.append(table(caption, head, rows, left=2))
        if len(beside.pairs) <= FEW_PAIRS:
            parts.append(items(words for pair in beside.pairs for words in pair_words(pair, fs)))
        else:
            head, rows = pairs_table(beside.pairs, fs)
            parts.append(table("From each to the next, in percent", head, rows, left=2))
            parts.append(items(unlike_words(pair) for pair in beside.pairs if pair.unlike))
    parts += [element("h3", text("The limits of the flow figures")), items(LIMITS)]
    return join(parts)


def _places(answer: FlowAnswers, fs: FlowShown) -> Html:
    head, rows = places_table(answer.state, fs)
    words = f"{throat_words(answer.state, fs)} Air: {air_words(answer.state.air, fs.shown)}."
    return join((table("Named places", head, rows), element("p", text(words), class_="quiet")))


def _speeds(answer: FlowAnswers, fs: FlowShown) -> Html:
    state = answer.state
    where = fs.shown.place(state.along.fastest.distance_mm, bench_scale(state.stage.surface))
    head, rows = speeds_table(state, fs)
    return join(
        (
            paragraph(fastest_words(state.along, where, fs)),
            element("p", text(theory_words(state, fs)), class_="quiet"),
            table("Speed at every station", head, rows, left=2),
        )
    )


def _valve(answer: FlowAnswers, fs: FlowShown) -> Html:
    if answer.valve is None:
        return EMPTY
    head, rows = valve_table(answer.valve, fs)
    return join(
        (
            element("h4", text("Valve")),
            table("Opening against lift", head, rows),
            items(valve_words(answer.valve, answer.throat_differs, fs)),
        )
    )


def _bench(answer: FlowAnswers, fs: FlowShown) -> Html:
    points = answer.state.points
    if not points:
        return EMPTY
    head, rows = bench_table(points, fs)
    words = circumstances(points, fs)
    words += [COEFFICIENTS] if any(p.coefficients is not None for p in points) else []
    return join(
        (
            element("h4", text("Bench readings")),
            table("Readings, and what they make of the areas", head, rows),
            items([*words, *point_notes(points, fs)]),
        )
    )


def _demand(answer: FlowAnswers, fs: FlowShown) -> Html:
    lines = [] if answer.demand is None else demand_words(answer.demand, fs, answer.state)
    parts = [items(lines)]
    if answer.larger:
        head, rows = heads_table(answer.larger, fs)
        parts += [table("A larger valve", head, rows), items(larger_words(answer.larger, fs))]
    parts = [p for p in parts if p]
    title = element("h4", text("What the engine and a larger valve ask for"))
    return join((title, *parts)) if parts else EMPTY


def _losses(answer: FlowAnswers, fs: FlowShown) -> Html:
    found, state = answer.losses, answer.state
    if not found.ranked:
        return EMPTY
    head, rows = losses_table(found, state, fs)
    words = overlap_words(found)
    words += [bend_words(b, state, fs) for b in found.bends]
    words += [cone_words(x, fs) for x in found.ranked if x.cone is not None]
    stretch_head, stretches = stretches_table(found.stretches, fs)
    return join(
        (
            element("h4", text("Where total pressure is lost")),
            table("Causes, the largest first", ["rank", *head[1:]], rows, left=3),
            items(words),
            table("From station to station", stretch_head, stretches),
            element("p", text(methods_words(found.ranked)), class_="quiet"),
        )
    )
