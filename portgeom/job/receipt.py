"""What does a job say of the head as it came in, of what was opened since, of rates and of times?"""

from __future__ import annotations

from typing import cast

from portgeom.job.keys import Entry
from portgeom.job.quote_values import Each, FixedTime, Quote, Range
from portgeom.job.receipt_values import Opened, Receipt


def read_receipt(entry: Entry | None) -> Receipt | None:
    """Return the head as received, or None where the job does not say or something is wrong."""
    if entry is None or not entry.complete or not entry.given:
        return None
    return Receipt(
        head=entry.text("head"),
        owner=entry.text("owner"),
        date=entry.text("date"),
        pressure_test=entry.text("pressure_test"),
        crack_test=entry.text("crack_test"),
        deck_flatness_mm=entry.number("deck_flatness"),
        face_flatness_mm=entry.number("face_flatness"),
        most_flatness_mm=entry.number("most_flatness"),
        earlier_work=entry.names("earlier_work"),
        wanted=entry.names("wanted"),
    )


def read_opened(entry: Entry) -> Opened | None:
    """Return a wall that was opened, or None where something is wrong with it."""
    if not entry.complete:
        return None
    return Opened(entry.text("port"), entry.text("where"), entry.text("sealed"), entry.text("tested"))


def read_quote(entry: Entry | None) -> Quote | None:
    """Return the rates and prices, or None where the job does not say or something is wrong."""
    if entry is None:
        return None
    if "hourly_rate" in entry.given and "currency" not in entry.given:
        entry.spot("currency").fault("is missing", 'say what the hourly rate is in, as currency = "euros"')
        return None
    fixed = entry.tables("fixed")
    if not entry.complete or not entry.given or not all(f.complete for f in fixed):
        return None
    return Quote(
        metal_cc_per_min=cast("Range | None", entry.values.get("metal_cc_per_min")),
        finish_cm2_per_min=cast("Range | None", entry.values.get("finish_cm2_per_min")),
        hourly_rate=entry.number("hourly_rate"),
        currency=entry.text("currency"),
        fixed=tuple(
            FixedTime(f.text("name"), cast("Range", f.values["minutes"]), cast("Each", f.text("each") or "port"))
            for f in fixed
        ),
        not_included=entry.names("not_included"),
    )
