"""What does a report say of the cutting: passes, order of work, depth cards, and what hands take in?"""

from __future__ import annotations

from portgeom.output.words.depth_cells import depth_cells
from portgeom.output.words.markup import EMPTY, Html, element, items, join, numbered, paragraph, table, text
from portgeom.output.words.passes_doc import HAND_RATES, ORDER_OF_WORK, kept_back_words, pass_cells
from portgeom.output.words.shown import Shown, set_depth
from portgeom.output.words.vibration_doc import exposure_words
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

WORTH_MM3 = 50.0
"""A pass that takes less than this prints as nothing."""

MEASURE_AGAIN = (
    "Measure again now: gauge the size across at every mark and hold it against the card's finish size. What the "
    "gauge says goes before this page."
)


LESS_MM = 2.0
"""A pass that finds metal over so much less than it is to go over is told both."""

RECORD = (
    "When all is done, measure every station again and pour the port: a new [[port.stage]] keeps the record, and this "
    "page then tells what is left."
)


def cutting_section(answer: Answers, cutting: Cutting, chart: Html, shown: Shown) -> Html:
    """Return all about cutting one stage of a port; nothing where nothing is to come off.

    Parameters
    ----------
    chart : Html
        The figure of areas after each pass.
    """
    if not cutting.results:
        return EMPTY
    scale = bench_scale(answer.stage.surface)
    remarks = []
    if cutting.kept_back is not None:
        remarks.append(kept_back_words(cutting.kept_back, shown))
    if all(r.minutes is None for r in cutting.results):
        remarks.append(
            "No minutes are told: a [[cutter]] with your own rate_cc_per_min, and vibration, would bring them. "
            + HAND_RATES
        )
    return join(
        (
            element("h3", text("Cutting")),
            paragraph(_plan_words(cutting)),
            _passes(cutting, shown),
            chart,
            element("h4", text("In this order")),
            numbered(order_lines(cutting, scale, shown)),
            paragraph(ORDER_OF_WORK),
            join(_card(r, card, shown) for r, card in zip(cutting.results, cutting.cards, strict=True)),
            items(remarks),
            _hands(cutting),
        )
    )


def _plan_words(cutting: Cutting) -> str:
    if cutting.results[0].plan.said:
        return "The passes are the job's own."
    return (
        "The job gives no passes, so this is the usual plan: grooves, level, again where much is left, blend. "
        f"Cutter: {cutting.results[0].plan.cutter.name}."
    )


def _passes(cutting: Cutting, shown: Shown) -> Html:
    u, results = shown.units, cutting.results
    timed = any(r.minutes is not None for r in results)
    walled = any(r.walls.least is not None for r in results)
    headings = ["pass", "side", "cutter", "cc", "g", "cc so far", "cc left", f"smallest flow area, {u}2", f"at, {u}"]
    headings.append(f"rib, {u}")
    headings += [f"least wall, {u}"] if walled else []
    headings += ["minutes"] if timed else []
    rows = []
    for k, r in enumerate(results, 1):
        row = [
            f"{k} {r.plan.name}",
            *pass_cells(r, shown),
            shown.number(r.smallest.distance_mm),
            shown.number(r.rib.height_mm),
        ]
        row += [_least_wall(r, shown)] if walled else []
        row += ["not known" if r.minutes is None else f"{r.minutes:.0f}"] if timed else []
        rows.append(row)
    return table("What each pass takes off, and the port after it", headings, rows, left=3)


def _least_wall(result: PassResult, shown: Shown) -> str:
    wall = result.walls.least
    if wall is None or wall.least is None:
        return "not known"
    at = wall.least
    return f"{shown.number(at.wall_mm)} {wall.hazard}" if at.wall_mm > 0.0 else f"open, {wall.hazard}"


def order_lines(cutting: Cutting, scale: BenchScale, shown: Shown) -> list[str]:
    """Return what to do in which order, with when to measure again."""
    lines = [f"{r.plan.name}: {pass_words(r, scale, shown)}" for r in cutting.results]
    kinds = [r.plan.kind for r in cutting.results]
    works = [r.volume_mm3 >= WORTH_MM3 for r in cutting.results]
    for k in (k for k, kind in enumerate(kinds) if kind == "level" and works[k]):
        lines[k] += f" {MEASURE_AGAIN}"
    lines.append(RECORD)
    return lines


def pass_words(result: PassResult, scale: BenchScale, shown: Shown) -> str:
    """Return what one pass is in words: where, how deep, how much."""
    plan = result.plan
    if result.volume_mm3 < WORTH_MM3:
        return f"nothing to take off the {plan.side} here; go on."
    where = (
        f"from {shown.number(plan.from_mm)} to {shown.length(plan.to_mm)}{_only(result, shown)} with {plan.cutter.name}"
    )
    amount = f"{shown.volume(result.volume_mm3)}."
    if plan.kind == "grooves":
        grooves = [g for g in result.grooves if g.runs.any()]
        deepest = deepest_groove(result)
        if not grooves or deepest is None:
            return f"{plan.side} {where}, {amount}"
        depth, at = deepest
        count = f"{len(grooves)} groove{'' if len(grooves) == 1 else 's'}"
        return (
            f"{count} along the {plan.side}, {where}, set as the card says, at most "
            f"{set_depth(depth, shown.units)} {shown.units} deep, at {shown.place(at, scale)}. {amount}"
        )
    if plan.kind == "level":
        return (
            f"the {plan.side} {where}, {shown.length(plan.overshoot_mm)} below the groove bottoms, "
            f"{shown.length(plan.leave_mm)} short of the line. {amount}"
        )
    to = "to the line" if plan.leave_mm <= 0.0 else f"to {shown.length(plan.leave_mm)} short of the line"
    return f"the {plan.side} {where}, {to}. {amount}"


def _only(result: PassResult, shown: Shown) -> str:
    """Return where a pass finds metal, where that is a good deal less than what it is to go over."""
    plan, found = result.plan, result.worked
    if found is None or (found.from_mm - plan.from_mm < LESS_MM and plan.to_mm - found.to_mm < LESS_MM):
        return ""
    # the head reaches a little over the ends it is led between
    first, last = max(plan.from_mm, found.from_mm), min(plan.to_mm, found.to_mm)
    return f" (metal comes off from {shown.number(first)} to {shown.number(last)} only)"


def deepest_groove(result: PassResult) -> tuple[float, float] | None:
    """Return the greatest set depth of a pass and the path distance of it; None without grooves."""
    distance = result.after.chart.distance_mm
    found = [
        (float(min(g.depth_mm[j], g.stop_mm[j])), float(distance[j]))
        for g in result.grooves
        for j in g.runs.nonzero()[0]
        if g.depth_mm[j] > 0
    ]
    return max(found, default=None)


def _card(result: PassResult, card: tuple[CardMark, ...], shown: Shown) -> Html:
    if not card:
        return EMPTY
    plan, units = result.plan, shown.units
    numbers = sorted({r.row for m in card for r in m.rows})
    headings = ["mark", f"square from face, {units}", f"along roof, {units}"]
    for n in numbers:
        headings += [f"groove {n} set, {units}", f"STOP, {units}"]
    rows = []
    for k, mark in enumerate(card, 1):
        cells = [str(k), shown.number(mark.square_mm), shown.number(mark.along_roof_mm)]
        found = {r.row: r for r in mark.rows}
        for n in numbers:
            cells += depth_cells(found.get(n), units)
        rows.append(cells)
    side = "up from the floor" if plan.side in ("left", "right") else "from the left, looking in"
    return element(
        "div",
        element("h4", text(f"Depth card: {plan.name}, {plan.side}, {plan.cutter.name}")),
        paragraph(
            f"Grooves count {side}. Set depth is below the metal as it is before this pass; at STOP a wall behind is "
            "at its limit, and no depth is set deeper. Both are rounded down. To pin it up, portgeom passes --card "
            "makes a page of it."
        ),
        table(
            "Set depths at the marks",
            headings,
            rows,
            strong=[3 + 2 * k for k in range(len(numbers))],
        ),
        _sizes(card, shown, side_by_side=plan.side in ("roof", "floor")),
        class_="card",
    )


def _aside(across_mm: float, shown: Shown) -> str:
    """Return a place across in words: a sign is easily overlooked."""
    number = shown.number(abs(across_mm))
    if not number.strip("0."):
        return number
    return f"{number} {'right' if across_mm > 0.0 else 'left'}"


def _sizes(card: tuple[CardMark, ...], shown: Shown, *, side_by_side: bool) -> Html:
    u = shown.units
    rows = [
        [
            str(k),
            str(r.row),
            shown.number(mark.distance_mm),
            _aside(r.across_mm, shown) if side_by_side else shown.number(r.across_mm),
            shown.number(r.width_mm),
            shown.number(r.left_mm),
            shown.number(r.opposite_mm),
            shown.number(r.finish_mm),
        ]
        for k, mark in enumerate(card, 1)
        for r in mark.rows
    ]
    headings = [
        "mark",
        "groove",
        f"along the path, {u}",
        f"across, {u}" if side_by_side else f"above the path, {u}",
        f"width at the surface, {u}",
        f"left to the line, {u}",
        f"gauge to its bottom, {u}",
        f"finish size, {u}",
    ]
    return table("Where each groove runs, and the sizes that tell its depth once the ribs are gone", headings, rows)


def _hands(cutting: Cutting) -> Html:
    if cutting.exposure is None:
        return EMPTY
    words = [exposure_words(cutting.exposure)]
    if cutting.unjudged:
        words.append(f"Not counted, for want of a rate or a vibration in the job: {', '.join(cutting.unjudged)}.")
    return join((element("h4", text("Hands")), *(paragraph(w) for w in words)))
