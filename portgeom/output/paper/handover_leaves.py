"""Which pages are there to read and sign: the head as it came in, its valve job, the quote, and the handover?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias

from portgeom.job.values import Job
from portgeom.output.paper.blocks import Grid, Leaf, Lines, Link, Part, Sign, facts, grid
from portgeom.output.words.handover_cautions import HANDED_OVER, RECEIVED, VALVE_JOB
from portgeom.output.words.quote_doc import HEADINGS, hours_words, missing_lines, price_words, quote_rows
from portgeom.output.words.record_doc import (
    flow_rows,
    lifts_left_out,
    opened_lines,
    receipt_rows,
    record_headings,
    record_rows,
    wall_lines,
)
from portgeom.output.words.shown import Shown
from portgeom.output.words.valve_doc import (
    CLOCK_WORDS,
    chamber_lines,
    cut_headings,
    cut_rows,
    remark_lines,
    room_headings,
    room_rows,
    sheet_rows,
    valve_name,
)
from portgeom.questions.handover.record import PortRecord
from portgeom.questions.quote.quote import QuoteResult
from portgeom.questions.valve_job.chamber import ChamberSheet
from portgeom.questions.valve_job.seat import SeatSheet

LeafName: TypeAlias = Literal["receipt", "valves", "quote", "handover"]

PORTS_A_LEAF = 4
"""Ports whose columns fit side by side on one sheet."""

GIVEN = "Handed in by, date"
TAKEN = "Taken in by, date"


def _who(job: Job) -> tuple[str, ...]:
    """Return what stands under every title: whose head it is, as far as it is told."""
    receipt = job.receipt
    if receipt is None:
        return ()
    told = (("head marked", receipt.head), ("owner", receipt.owner), ("received", receipt.date))
    words = ", ".join(f"{name} {said}" for name, said in told if said)
    return (f"{words[:1].upper()}{words[1:]}",) if words else ()


def receipt_leaf(job: Job, shown: Shown) -> Leaf:
    """Return the head as it was received, to sign."""
    receipt = job.receipt
    assert receipt is not None
    return Leaf(
        f"Received: {job.title}",
        (),
        (
            Part("The head as it came in", (facts(*receipt_rows(receipt, job.material, shown)),)),
            Part("Work done on it before", (Lines(receipt.earlier_work),)),
            Part("What is wanted", (Lines(receipt.wanted),)),
            Part("To know", (Lines(RECEIVED),)),
            Part("Signed", (Sign((GIVEN, TAKEN)),)),
        ),
    )


def valves_leaf(job: Job, seats: Sequence[SeatSheet], chamber: ChamberSheet | None, shown: Shown) -> Leaf:
    """Return the valve job and the chamber, on a sheet to work by."""
    parts = []
    for sheet in seats:
        blocks = [grid(["", "is", "should be", "by", ""], sheet_rows(sheet, shown), left=5)]
        if sheet.cuts:
            blocks.append(grid(cut_headings(shown), cut_rows(sheet, shown)))
        parts.append(Part(valve_name(sheet.valve.kind), (*blocks, Lines(tuple(remark_lines(sheet))))))
    if chamber is not None:
        rooms = room_rows(chamber, shown)
        clock = (CLOCK_WORDS[shown.units],) if rooms else ()
        said = (*chamber_lines(chamber, shown), *clock)
        parts.append(Part("Chamber", (Lines(said), grid(room_headings(), rooms))))
    if any(p.filled for p in parts):
        parts.append(Part("To know", (Lines(VALVE_JOB),)))
    return Leaf(f"Valve job: {job.title}", _who(job), tuple(parts))


def quote_leaf(job: Job, found: QuoteResult) -> Leaf:
    """Return the quote, to agree to."""
    price = price_words(found)
    return Leaf(
        f"Quote: {job.title}",
        _who(job),
        (
            Part("What is wanted", (Lines(() if job.receipt is None else job.receipt.wanted),)),
            Part("Minutes", (grid(HEADINGS, quote_rows(found), left=3), Lines(tuple(missing_lines(found))))),
            Part("Together", (facts(("hours", hours_words(found)), ("price", price)),)),
            Part("Not included", (Lines(found.not_included),)),
            Part("Agreed", (Sign(("For the owner, date", "For the shop, date")),)),
        ),
    )


def handover_leaves(
    job: Job, records: Sequence[PortRecord], shown: Shown, *, report: str | None = None
) -> tuple[Leaf, ...]:
    """Return the handover: one page for up to four ports, to sign on the last.

    ``report`` is the place of the full report, as seen from the page.
    """
    groups = [records[k : k + PORTS_A_LEAF] for k in range(0, len(records), PORTS_A_LEAF)]
    leaves = []
    for number, group in enumerate(groups, 1):
        last = number == len(groups)
        part = "" if len(groups) == 1 else f" ({number} of {len(groups)})"
        leaves.append(
            Leaf(
                f"Handover: {job.title}{part}",
                _who(job),
                (
                    Part("Measured", (grid(record_headings(group), record_rows(group, shown)),)),
                    Part("Least metal left behind the walls", (Lines(tuple(wall_lines(group, shown))),)),
                    Part("Opened and sealed", (Lines(tuple(opened_lines(group, job.opened))),)),
                    Part("On the flow bench", _flow(job, group, shown)),
                    *(
                        (
                            Part("Cautions", (Lines(HANDED_OVER),)),
                            Part("Signed", (Sign(("Handed over by, date", "Taken over by, date")),)),
                        )
                        if last
                        else ()
                    ),
                ),
                None if report is None or not last else Link("All figures and pictures are in the report", report),
            )
        )
    return tuple(leaves)


def _flow(job: Job, records: Sequence[PortRecord], shown: Shown) -> tuple[Grid, Lines]:
    rows = flow_rows(job.flow, records, shown)
    lifts = grid(["port", f"lift, {shown.units}", "at", "flow"], rows, left=4)
    return lifts, Lines(tuple(lifts_left_out(job.flow, records)))
