"""What does the plan of passes say at the bench, to a program, and as a table for a spreadsheet?"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from portgeom.job.values import Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.json_doc import Json, Numbers, cc
from portgeom.output.shown import Shown
from portgeom.output.tables import table
from portgeom.output.text import heading
from portgeom.questions.depth_card import CardMark
from portgeom.questions.passes import PassResult
from portgeom.questions.places import bench_scale

ORDER_OF_WORK = (
    "Order of work (common practice): entry corners, the boss, roof grooves, level, side walls, throat, "
    "bowl and guide boss, the short side last; the floor is only cleaned. Measure again after levelling and "
    "before the last blend."
)

HAND_RATES = (
    "Typical hand rates in a port, for orientation only (common practice): iron 0.6 to 1.2 cc a minute, "
    "aluminium 2 to 4."
)


def passes_json(results: Sequence[PassResult], cards: Sequence[Sequence[CardMark]], n: Numbers) -> dict[str, Json]:
    """Return the entry of ``passes``, without port and stage."""
    return {
        "passes": [_pass(r, card, n) for r, card in zip(results, cards, strict=True)],
        "left_after_cc": cc(results[-1].left_mm3) if results else None,
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
            {"distance": n.length(float(s)), "area": n.area(float(a))}
            for s, a in zip(chart.distance_mm, result.after.flow_area_mm2, strict=True)
        ],
        "smallest": {"distance": n.length(result.smallest.distance_mm), "area": n.area(result.smallest.area_mm2)},
        "rib_height": n.length(result.rib.height_mm),
        "left_cc": cc(result.left_mm3),
        "least_wall": None,
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
    results: Sequence[PassResult],
    cards: Sequence[Sequence[CardMark]],
    shown: Shown,
) -> str:
    """Return what every pass takes, and the depth card of every pass that cuts grooves."""
    scale = bench_scale(stage.surface)
    planned = (
        "the job's passes" if results and results[0].plan.said else "the usual plan, since the job gives no passes"
    )
    head = ["pass", "side", "cutter", "cc", "g", "cc so far", "left cc", f"smallest {shown.units}2", "rib", "min"]
    rows = [
        [
            r.plan.name,
            r.plan.side,
            r.plan.cutter.name,
            shown.volume_number(r.volume_mm3),
            f"{r.mass_g:.0f}",
            shown.volume_number(r.total_mm3),
            shown.volume_number(r.left_mm3),
            shown.area_number(r.smallest.area_mm2),
            shown.number(r.rib.height_mm),
            "-" if r.minutes is None else f"{r.minutes:.0f}",
        ]
        for r in results
    ]
    lines = [f"{heading(port, stage)}: {planned}", table(head, rows, left=3)]
    for result, card in zip(results, cards, strict=True):
        if result.plan.kind == "grooves":
            lines += card_lines(result, card, shown)
        if result.plan.kind == "grooves" and result.rib.top_mm > result.plan.body.diameter_mm:
            lines.append(
                f"  A rib of {result.plan.name} is {shown.length(result.rib.top_mm)} wide on top, wider than the "
                "cutter: set another row between, or level with a larger one."
            )
    if results:
        small = results[-1].smallest
        lines.append(
            f"After the last pass: {shown.volume(results[-1].left_mm3)} still over the line, smallest flow area "
            f"{shown.area(small.area_mm2)} at {shown.place(small.distance_mm, scale)}."
        )
    if any(r.minutes is None for r in results):
        lines.append(HAND_RATES)
    return "\n".join([*lines, ORDER_OF_WORK])


def card_lines(result: PassResult, card: Sequence[CardMark], shown: Shown) -> list[str]:
    """Return the depth card of a groove pass: a line a mark and groove."""
    if not card:
        return [f"  {result.plan.name}: no grooves; too little metal stands over the line"]
    head = ["at", "from face", "along roof", "row", "across", "set depth", "left to line", "gauge", "finish"]
    rows = [
        [
            shown.number(m.distance_mm),
            shown.number(m.square_mm),
            shown.number(m.along_roof_mm),
            str(r.row),
            shown.number(r.across_mm),
            shown.number(r.depth_mm),
            shown.number(r.left_mm),
            shown.number(r.opposite_mm),
            shown.number(r.finish_mm),
        ]
        for m in card
        for r in m.rows
    ]
    return [
        f"Depth card, {result.plan.name}, {result.plan.cutter.name}, {shown.units} (set depth is below the metal as "
        "it is before the pass; gauge is the size across the port to the groove's bottom, finish the same at the "
        "line; rows count from the left, looking in):",
        table(head, rows, left=0),
    ]


def card_csv(name: str, results: Sequence[PassResult], cards: Sequence[Sequence[CardMark]], units: Units) -> str:
    """Return the depth cards of a port as a table for a spreadsheet."""
    n = Numbers(units)
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(
        ["port", "pass", "side", "distance", "square_from_face", "along_roof", "row", "across", "depth", "left",
         "opposite", "finish"]
    )  # fmt: skip
    for result, card in zip(results, cards, strict=True):
        for m in card:
            for r in m.rows:
                places = [n.length(x) for x in (m.distance_mm, m.square_mm, m.along_roof_mm)]
                sizes = [n.length(x) for x in (r.across_mm, r.depth_mm, r.left_mm, r.opposite_mm, r.finish_mm)]
                write.writerow([name, result.plan.name, result.plan.side, *places, r.row, *sizes])
    return out.getvalue()
