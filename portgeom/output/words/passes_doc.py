"""What does the plan of passes say at the bench, to a program, and as a table for a spreadsheet?"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from portgeom.job.values import Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.depth_cells import depth_cells, held
from portgeom.output.words.json_doc import Json, Numbers, cc
from portgeom.output.words.shown import Shown
from portgeom.output.words.tables import table
from portgeom.output.words.text import heading
from portgeom.output.words.vibration_doc import exposure_json, exposure_words
from portgeom.output.words.walls_doc import caution_words
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark
from portgeom.questions.cutting.passes import KeptBack, Passes
from portgeom.questions.cutting.tool_use import uses_of
from portgeom.questions.cutting.vibration import exposure
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.walls.cautions import cautions

ORDER_OF_WORK = (
    "Order of work (common practice): entry corners, the boss, roof grooves, level, side walls, throat, "
    "bowl and guide boss, the short side last; the floor is only cleaned. Measure again after levelling and "
    "before the last blend."
)

HAND_RATES = (
    "Typical hand rates in a port, for orientation only (common practice): iron 0.6 to 1.2 cc a minute, "
    "aluminium 2 to 4."
)


def passes_json(done: Passes, cards: Sequence[Sequence[CardMark]], n: Numbers) -> dict[str, Json]:
    """Return the entry of ``passes``, without port and stage."""
    results, kept = done.results, done.kept_back
    uses, _ = uses_of(results)
    return {
        "passes": [_pass(r, card, n) for r, card in zip(results, cards, strict=True)],
        "left_after_cc": cc(results[-1].left_mm3) if results else None,
        "kept_back": None
        if kept is None
        else {"volume_cc": cc(kept.volume_mm3), "smallest_area": n.area(kept.smallest_mm2)},
        "exposure": exposure_json(exposure(uses)) if uses else None,
    }


def _least_wall(result: PassResult, n: Numbers) -> Json:
    wall = result.walls.least
    if wall is None or wall.least is None:
        return None
    at = wall.least
    return {
        "hazard": wall.hazard,
        "distance": n.length(at.distance_mm),
        "clock": round(at.clock_deg, 1),
        "wall": n.length(at.wall_mm),
    }


def _pass(result: PassResult, card: Sequence[CardMark], n: Numbers) -> Json:
    chart = result.after.chart
    return {
        "name": result.plan.name,
        "kind": result.plan.kind,
        "side": result.plan.side,
        "cutter": result.plan.cutter.name,
        "volume_cc": cc(result.volume_mm3),
        "mass_g": round(result.mass_g, 2),
        "total_cc": cc(result.total_mm3),
        "minutes": None if result.minutes is None else round(result.minutes, 2),
        "area": [
            {"distance": n.length(float(s)), "area": n.area(float(a)), "flow_area": n.area(float(f))}
            for s, a, f in zip(chart.distance_mm, result.after.area_mm2, result.after.flow_area_mm2, strict=True)
        ],
        "smallest": {"distance": n.length(result.smallest.distance_mm), "area": n.area(result.smallest.area_mm2)},
        "rib_height": n.length(result.rib.height_mm),
        "left_cc": cc(result.left_mm3),
        "least_wall": _least_wall(result, n),
        "depth_card": [
            {
                "distance": n.length(m.distance_mm),
                "square_from_face": n.length(m.square_mm),
                "along_roof": n.length(m.along_roof_mm),
                "rows": [
                    {
                        "row": r.row,
                        "across": n.length(r.across_mm),
                        "depth": n.length(r.depth_mm),
                        "left": n.length(r.left_mm),
                        "opposite": n.length(r.opposite_mm),
                        "finish": n.length(r.finish_mm),
                        "stop": n.length(r.stop_mm),
                        "width": n.length(r.width_mm),
                    }
                    for r in m.rows
                ],
            }
            for m in card
        ],
    }


def passes_text(
    port: LoftedPort,
    stage: LoftedStage,
    done: Passes,
    cards: Sequence[Sequence[CardMark]],
    shown: Shown,
) -> str:
    """Return what every pass takes, and the depth card of every pass that cuts grooves."""
    scale, results = bench_scale(stage.surface), done.results
    planned = (
        "the job's passes" if results and results[0].plan.said else "the usual plan, since the job gives no passes"
    )
    head = [
        "pass",
        "side",
        "cutter",
        "cc",
        "g",
        "cc so far",
        "left cc",
        f"smallest {shown.units}2",
        "rib",
        "least wall",
        "minutes",
    ]
    rows = [
        [
            r.plan.name,
            *pass_cells(r, shown),
            shown.number(r.rib.height_mm),
            _wall(r, shown),
            "-" if r.minutes is None else f"{r.minutes:.0f}",
        ]
        for r in results
    ]
    lines = [f"{heading(port, stage)}: {planned}", table(head, rows, left=3)]
    for result, card in zip(results, cards, strict=True):
        if result.plan.kind == "grooves":
            lines += card_lines(result, card, shown)
            lines += _wide_rib(result, results, scale, shown)
    lines += [f"  caution, {words}" for words in _cautions(port, results, scale, shown)]
    if results:
        small = results[-1].smallest
        lines.append(
            f"After the last pass: {shown.volume(results[-1].left_mm3)} still over the line, smallest flow area "
            f"{shown.area(small.area_mm2)} at {shown.place(small.distance_mm, scale)}."
        )
    if done.kept_back is not None:
        lines.append(kept_back_words(done.kept_back, shown))
    uses, unjudged = uses_of(results)
    if uses:
        lines.append(exposure_words(exposure(uses)))
        if unjudged:
            lines.append(f"Not counted, for want of a rate or a vibration in the job: {', '.join(unjudged)}.")
    if any(r.minutes is None for r in results):
        lines.append(HAND_RATES)
    return "\n".join([*lines, ORDER_OF_WORK])


def pass_cells(result: PassResult, shown: Shown) -> list[str]:
    """Return a pass's side and cutter, what it takes off, what is off and left after it, and the smallest area."""
    return [
        result.plan.side,
        result.plan.cutter.name,
        shown.volume_number(result.volume_mm3),
        f"{result.mass_g:.0f}",
        shown.volume_number(result.total_mm3),
        shown.volume_number(result.left_mm3),
        shown.area_number(result.smallest.area_mm2),
    ]


def _wide_rib(result: PassResult, results: Sequence[PassResult], scale: BenchScale, shown: Shown) -> list[str]:
    """Return a warning where a rib is wider on top than the cutter that levels it, or else than its own."""
    later = results[results.index(result) + 1 :]
    levels = next((r for r in later if r.plan.kind == "level" and r.plan.side == result.plan.side), result)
    if result.rib.top_mm <= levels.plan.body.diameter_mm:
        return []
    place = float(result.after.chart.distance_mm[result.rib.widest_slab])
    return [
        f"  A rib of {result.plan.name} is {shown.length(result.rib.top_mm)} wide on top at "
        f"{shown.place(place, scale)}, wider than {levels.plan.cutter.name}: set another row between, or level with "
        "a larger cutter."
    ]


def _cautions(port: LoftedPort, results: Sequence[PassResult], scale: BenchScale, shown: Shown) -> list[str]:
    """Return what to beware of behind the walls, each at the first pass that brings it."""
    told: set[tuple[str, str]] = set()
    words = []
    for result in results:
        for caution in cautions(result.walls):
            about = caution.kind, caution.wall.hazard
            if about not in told:
                told.add(about)
                words.append(f"{result.walls.state}: {caution_words(caution, port.port, scale, shown)}")
    return words


def _wall(result: PassResult, shown: Shown) -> str:
    wall = result.walls.least
    return "-" if wall is None or wall.least is None else shown.number(wall.least.wall_mm)


def kept_back_words(kept: KeptBack, shown: Shown) -> str:
    """Return what respecting the walls costs."""
    if kept.volume_mm3 < 50.0:
        return "No pass had to stop short for a wall."
    return (
        f"To keep the walls {shown.volume(kept.volume_mm3)} stays standing, and the smallest flow area is "
        f"{shown.area(kept.smallest_mm2)} less than the passes would else leave."
    )


def card_lines(result: PassResult, card: Sequence[CardMark], shown: Shown) -> list[str]:
    """Return the depth card of a groove pass: a line a mark and groove."""
    if not card:
        return [f"  {result.plan.name}: no grooves; too little metal stands over the line"]
    head = ["at", "from face", "along roof", "row", "across", "set depth", "left to line", "gauge", "finish", "STOP"]
    rows = [
        [
            shown.number(m.distance_mm),
            shown.number(m.square_mm),
            shown.number(m.along_roof_mm),
            str(r.row),
            shown.number(r.across_mm),
            depth_cells(r, shown.units)[0] + ("!" if held(r) else ""),
            shown.number(r.left_mm),
            shown.number(r.opposite_mm),
            shown.number(r.finish_mm),
            depth_cells(r, shown.units)[1],
        ]
        for m in card
        for r in m.rows
    ]
    return [
        f"Depth card, {result.plan.name}, {result.plan.cutter.name}, {shown.units} (set depth is below the metal as "
        "it is before the pass; gauge is the size across the port to the groove's bottom, finish the same at the "
        "line, STOP the depth at which a wall is at its limit; set depth and STOP are rounded down; rows count from "
        "the left, looking in):",
        table(head, rows, left=0),
        *(
            ["  ! is held at its STOP: the wall behind would be past its limit at the depth planned."]
            if any("!" in c for row in rows for c in row)
            else []
        ),
    ]


def card_csv(name: str, results: Sequence[PassResult], cards: Sequence[Sequence[CardMark]], units: Units) -> str:
    """Return the depth cards of a port as a table for a spreadsheet."""
    n = Numbers(units)
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(
        ["port", "pass", "side", "distance", "square_from_face", "along_roof", "row", "across", "depth", "left",
         "opposite", "finish", "width", "stop"]
    )  # fmt: skip
    for result, card in zip(results, cards, strict=True):
        for m in card:
            for r in m.rows:
                places = [n.length(x) for x in (m.distance_mm, m.square_mm, m.along_roof_mm)]
                sizes = (r.across_mm, r.depth_mm, r.left_mm, r.opposite_mm, r.finish_mm, r.width_mm, r.stop_mm)
                write.writerow([name, result.plan.name, result.plan.side, *places, r.row, *map(n.length, sizes)])
    return out.getvalue()
