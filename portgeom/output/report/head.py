"""What does a report say of the head as a whole: as it came in, its valve jobs, its chamber, the quote?"""

from __future__ import annotations

from portgeom.job.values import Job
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.quote_doc import HEADINGS, hours_words, missing_lines, price_words, quote_rows
from portgeom.output.words.record_doc import receipt_rows
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
from portgeom.questions.handover.sheets import HeadSheets
from portgeom.questions.quote.quote import QuoteResult
from portgeom.questions.valve_job.chamber import ChamberSheet
from portgeom.questions.valve_job.seat import SeatSheet


def receipt_section(job: Job, shown: Shown) -> Html:
    """Return the head as it came in; nothing where the job does not say."""
    receipt = job.receipt
    if receipt is None:
        return EMPTY
    rows = [[name, words] for name, words in receipt_rows(receipt, job.material, shown) if words]
    lists = (("Work done on it before", receipt.earlier_work), ("What is wanted", receipt.wanted))
    return join(
        (
            table("As received", ["what", "found"], rows, left=2),
            join(join((element("h3", text(title)), items(lines))) for title, lines in lists if lines),
        )
    )


def valves_section(sheets: HeadSheets, shown: Shown) -> Html:
    """Return seats, guides and the chamber; nothing where none of them was measured."""
    parts = [_seat(s, shown) for s in sheets.seats]
    if sheets.chamber is not None:
        parts.append(_chamber(sheets.chamber, shown))
    return join(p for p in parts if p)


def _seat(sheet: SeatSheet, shown: Shown) -> Html:
    cuts = EMPTY
    if sheet.cuts:
        cuts = table("Cuts of the seat, from the chamber inwards", cut_headings(shown), cut_rows(sheet, shown))
    return join(
        (
            element("h3", text(valve_name(sheet.valve.kind))),
            items(remark_lines(sheet)),
            table("Seat and guide", ["what", "is", "should be", "by", "verdict"], sheet_rows(sheet, shown), left=5),
            cuts,
        )
    )


def _chamber(sheet: ChamberSheet, shown: Shown) -> Html:
    lines, rooms = chamber_lines(sheet, shown), room_rows(sheet, shown)
    if not lines and not rooms:
        return EMPTY
    around = EMPTY
    if rooms:
        headings = ["from the edge of", *room_headings()[1:]]
        around = table(CLOCK_WORDS[shown.units], headings, rows=rooms)
    return join((element("h3", text("Chamber")), items(lines), around))


def quote_section(found: QuoteResult | None) -> Html:
    """Return hours and price; nothing where the job gives no rates."""
    if found is None:
        return EMPTY
    price = price_words(found)
    return join(
        (
            element("p", text(f"{hours_words(found)}."), class_="figure"),
            paragraph(f"{price[:1].upper()}{price[1:]}.") if price else EMPTY,
            table("Minutes, from the ports as they came in", HEADINGS, quote_rows(found), left=3),
            items(missing_lines(found)),
            element("h3", text("Not included")),
            items(found.not_included),
        )
    )
