"""``handover``: pages to read and sign, from the head as it came in to the head as it goes out."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import Asked, Opened, found_something, question
from ..saying import say

if TYPE_CHECKING:
    from portgeom.output.paper.blocks import Leaf
    from portgeom.output.paper.handover_leaves import LeafName
    from portgeom.output.paper.paper import Paper
    from portgeom.output.words.json_doc import Json
    from portgeom.questions.handover.record import PortRecord


@click.command("handover")
@question
@click.option(
    "--page",
    "name",
    type=click.Choice(["handover", "receipt", "valves"]),
    default="handover",
    show_default=True,
    help="The head as it goes out, as it came in, or its valve job and chamber.",
)
@click.option("--out", "path", type=click.Path(path_type=Path), help="Write the page to print here: .html or .pdf.")
@click.option("--report", "report", type=click.Path(path_type=Path), help="The full report, for the page to lead to.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the PDF.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def command(asked: Asked, name: LeafName, path: Path | None, report: Path | None, paper: Paper, force: bool) -> None:
    """One page to sign: before and after, least walls, what was opened and sealed, flow, cautions.

    Only what was measured is on it. Other pages: the head as it came in, and the valve job with the chamber.
    """
    from portgeom.output.paper.blocks import leaf_text
    from portgeom.output.words.json_doc import document
    from portgeom.output.words.text import paragraphs
    from portgeom.questions.handover.record import port_record

    from ..leaves import refuse_leaves, write_leaves

    refuse_leaves(path, force=force)
    opened = asked.open()
    records = [port_record(opened.job, port, stage) for port, stage in opened.chosen]
    leaves = _leaves(opened, name, records, _seen_from(report, path))
    if path is not None:
        if not leaves:
            raise click.UsageError(f"--out: {_nothing(name)}")
        write_leaves(path, opened.job.title, leaves, paper=paper, force=force)
    if asked.as_json:
        told = _told(opened, records)
        entries: list[Json] = [
            {"port": p.port.name, "stage": s.stage.name, **told[k]} for k, (p, s) in enumerate(opened.chosen)
        ]
        click.echo(document("handover", opened.units, entries, **_head(opened)))
    else:
        say(paragraphs([leaf_text(leaf) for leaf in leaves]) if leaves else _nothing(name))
    found_something(asked.strict, any(w.alarms for r in records for w in r.walls))


def _leaves(opened: Opened, name: LeafName, records: list[PortRecord], report: str | None) -> list[Leaf]:
    """Return the pages asked for; none where the job says nothing of it."""
    from portgeom.output.paper.handover_leaves import handover_leaves, receipt_leaf, valves_leaf
    from portgeom.output.words.shown import Shown
    from portgeom.questions.handover.sheets import chamber_of, seat_sheets

    job, shown = opened.job, Shown(opened.units)
    if name == "receipt":
        return [] if job.receipt is None else [receipt_leaf(job, shown)]
    if name == "valves":
        leaf = valves_leaf(job, seat_sheets(job, opened.ports), chamber_of(job), shown)
        return [leaf] if leaf.filled else []
    return list(handover_leaves(job, records, shown, report=report))


def _nothing(name: LeafName) -> str:
    if name == "receipt":
        return "The job says nothing of the head as it came in. Add a [receipt]."
    return "The job says nothing of seats, guides or the chamber. Add a [valve.seat], a [valve.guide] or a [chamber]."


def _seen_from(report: Path | None, page: Path | None) -> str | None:
    """Return where the report lies as seen from the page, with forward slashes."""
    if report is None:
        return None
    start = Path() if page is None else page.parent
    try:
        return Path(os.path.relpath(report, start)).as_posix()
    except ValueError:  # on another drive
        return report.as_posix()


def _told(opened: Opened, records: list[PortRecord]) -> list[dict[str, Json]]:
    from portgeom.output.words.json_doc import Numbers
    from portgeom.output.words.record_doc import flow_json, record_json

    numbers = Numbers(opened.units)
    return [{**record_json(r, numbers), "flow": flow_json(opened.job.flow, r, numbers)} for r in records]


def _head(opened: Opened) -> dict[str, Json]:
    """Return what is told of the head as a whole; null for what the job does not say."""
    from portgeom.output.words.json_doc import Numbers
    from portgeom.output.words.valve_doc import chamber_json, sheet_json
    from portgeom.questions.handover.sheets import chamber_of, seat_sheets

    job, numbers = opened.job, Numbers(opened.units)
    chamber, receipt = chamber_of(job), job.receipt
    return {
        "receipt": None
        if receipt is None
        else {
            "head": receipt.head or None,
            "owner": receipt.owner or None,
            "date": receipt.date or None,
            "pressure_test": receipt.pressure_test or None,
            "crack_test": receipt.crack_test or None,
            "deck_flatness": None if receipt.deck_flatness_mm is None else numbers.length(receipt.deck_flatness_mm),
            "face_flatness": None if receipt.face_flatness_mm is None else numbers.length(receipt.face_flatness_mm),
            "earlier_work": list(receipt.earlier_work),
            "wanted": list(receipt.wanted),
        },
        "opened": [
            {"port": o.port, "where": o.where, "sealed": o.sealed or None, "tested": o.tested or None}
            for o in job.opened
        ],
        "valves": [sheet_json(s, numbers) for s in seat_sheets(job, opened.ports)],
        "chamber": None if chamber is None else chamber_json(chamber, numbers),
    }
