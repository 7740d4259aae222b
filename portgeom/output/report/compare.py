"""What does a report say of how ports compare, how far each is, and what was poured?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.values import Port
from portgeom.output.charts.compare_chart import compare_drawing
from portgeom.output.words.compare_doc import (
    called,
    figures_rows,
    match_lines,
    match_rows,
    odd_lines,
    pair_lines,
    sureness,
    told_pairs,
)
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.poured_doc import not_comparable_lines, poured_lines
from portgeom.output.words.progress_doc import fine, habit_lines, plan_lines, rate_lines
from portgeom.output.words.shown import Shown, oclock
from portgeom.questions.compare.compare import Comparison
from portgeom.questions.compare.habit import habit
from portgeom.questions.compare.match import NoMatch
from portgeom.questions.compare.overcut import Patch
from portgeom.questions.compare.poured import NotComparable, Poured
from portgeom.questions.compare.progress import Progress
from portgeom.questions.compare.rates import cutter_rates
from portgeom.questions.shape.places import BenchScale


def compare_section(result: Comparison | None, prefix: str, shown: Shown) -> Html:
    """Return siblings side by side: figures, chart, differences, the odd one out, and what would make them match.

    ``prefix`` keeps the ids of its drawing apart from others'.
    """
    if result is None or len(result.members) < 2:
        return EMPTY
    head, rows = figures_rows(result, shown)
    drawing = compare_drawing(result, shown)
    parts = [
        table("Ports side by side, with the intervals that hold 95 percent", head, rows, left=head.index("cc")),
        element(
            "figure",
            element("figcaption", text(f"{drawing.title}: "), element("span", text(drawing.convention))),
            element(
                "div", Html(drawing.svg(prefix)), class_="draw", tabindex="0", role="group", aria_label=drawing.title
            ),
            class_="compare",
        ),
    ]
    for pair in told_pairs(result):
        first, *rest = pair_lines(result, pair, shown)
        parts += [paragraph(_sentence(first) + "."), items(_sentence(line.strip()) for line in rest)]
    parts += [paragraph(line) for line in odd_lines(result, shown)]
    parts.append(_matches(result, shown))
    named = [(called(result, m), m.poured) for m in result.members]
    poured = [poured_section(name, found, shown) for name, found in named if not isinstance(found, NotComparable)]
    lacking = [(name, found) for name, found in named if isinstance(found, NotComparable)]
    poured += [paragraph(line) for line in not_comparable_lines(lacking, shown)]
    parts += [element("h3", text("Poured volume")), *poured] if any(poured) else []
    parts.append(element("p", text(sureness(result)), class_="quiet"))
    return join(p for p in parts if p)


def _matches(result: Comparison, shown: Shown) -> Html:
    lines = match_lines(result, shown)
    if not lines:
        return EMPTY
    apart = [
        f"{called(result, m)} cannot be laid over {match.other}: {match.why}"
        for m, match in zip(result.members, result.matches, strict=True)
        if isinstance(match, NoMatch)
    ]
    left, right = (
        {getattr(m.port.port, wall) for m in result.members if not m.port.port.mirrored}
        for wall in ("left_wall", "right_wall")
    )
    walls = [next(iter(w)) if len(w) == 1 else side for w, side in ((left, "left"), (right, "right"))]
    mixed = len({m.port.port.mirrored for m in result.members}) > 1
    sides = ["left", "right"] if mixed else walls
    head = ["port", f"most between, {shown.units}", "cc to take off", "roof", "floor", *sides]
    rows = match_rows(result, shown)
    made = table(lines[0].rstrip(":"), head, rows, left=1) if rows else EMPTY
    return join((made, items(apart)))


def progress_section(result: Progress | None, port: Port, scale: BenchScale, shown: Shown) -> Html:
    """Return how far a port is: stage by stage, where it was cut too far, and the plan against what was measured."""
    if result is None or not result.cuts:
        return EMPTY
    net_mm3 = result.off.volume_mm3 - result.off.missing_mm3
    share = f"{100.0 * result.share_done:.0f} percent of the metal is off: {shown.volume(net_mm3)} so far, "
    parts = [paragraph(f"{share}{shown.volume(result.left.volume_mm3)} left.")]
    rows = [
        [
            c.after.stage.name,
            c.passes[-1].name if c.passes else "not said",
            shown.volume_number(c.net_mm3),
            "-" if c.minutes is None else f"{c.minutes:g}",
            "-" if c.rate_cc_per_min is None else f"{c.rate_cc_per_min:.2f}",
        ]
        for c in result.cuts
    ]
    parts.append(
        table("From stage to stage", ["stage", "measured after", "cc off", "minutes", "cc a minute"], rows, left=2)
    )
    limit = fine(result.over.limit_mm, shown)
    for caption, found in (
        (f"Cut too far: more than {limit} past the line and past the casting", result.over.cut),
        (f"Cast more than {limit} past the line", result.over.as_cast),
    ):
        if found:
            parts.append(_patches(caption, found, port, scale, shown))
    if not result.over.cut:
        parts.append(paragraph(f"Nowhere was it cut more than {limit} past the line."))
    for check in result.checks:
        first, *rest = plan_lines(check, scale, shown)
        parts += [paragraph(_sentence(first) + "."), items(_sentence(line.strip()) for line in rest)]
    return join(parts)


def _patches(caption: str, found: tuple[Patch, ...], port: Port, scale: BenchScale, shown: Shown) -> Html:
    u = shown.units
    head = ["where", f"at, {u}", f"square from the face, {u}", f"along the roof, {u}", f"deepest, {u}", f"mean, {u}"]
    head += [f"along by round, {u}", f"area, {u}2", "cc"]
    rows = [
        [
            oclock(p.clock_deg, port) + ("" if p.clear else ", may be the readings"),
            shown.number(p.distance_mm),
            shown.number(scale.square_at(p.distance_mm)),
            shown.number(scale.along_roof_at(p.distance_mm)),
            fine(p.deepest_mm, shown).split(" ")[0],
            fine(p.mean_mm, shown).split(" ")[0],
            f"{shown.number(p.to_mm - p.from_mm)} by {shown.number(p.around_mm)}",
            shown.area_number(p.area_mm2),
            f"{p.volume_mm3 / 1000.0:.2f}",
        ]
        for p in found
    ]
    return table(caption, head, rows, left=1)


def poured_section(name: str, found: Poured | NotComparable | None, shown: Shown) -> Html:
    """Return a poured volume against the model, where one was poured."""
    first, *rest = poured_lines(name, found, shown) or [""]
    return (
        join((paragraph(f"{first.removesuffix('.')}."), items(_sentence(line.strip()) for line in rest)))
        if first
        else EMPTY
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def learnt_section(found: Sequence[Progress], shown: Shown) -> Html:
    """Return what the measured stages tell of these hands: how levelling ends, and the rates of the cutters."""
    levellings = [s for p in found for s in p.levellings]
    lines = [*habit_lines(habit(levellings), levellings, shown)]
    rates = rate_lines(cutter_rates(cut for p in found for cut in p.cuts))
    return join(
        part
        for part in (items(lines), join(paragraph(r.strip()) for r in rates[:1]), items(r.strip() for r in rates[1:]))
        if part
    )
