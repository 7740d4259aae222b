"""What does a quote read like, to a person and to a program?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from portgeom.output.words.tables import table

if TYPE_CHECKING:
    from portgeom.job.quote_values import Range
    from portgeom.output.words.json_doc import Json
    from portgeom.questions.quote.quote import QuoteLine, QuoteResult

HEADINGS = ["port", "what", "from", "low", "likely", "high"]

NO_QUOTE = (
    "The job gives no rates to quote by. Add a [quote] with metal_cc_per_min, finish_cm2_per_min, hourly_rate, "
    "currency and a [[quote.fixed]] for each thing that takes its time."
)


def quote_rows(found: QuoteResult) -> list[list[str]]:
    """Return the lines of a quote as cells, minutes from low to high."""
    return [[_port(line), line.what, line.basis, *(f"{m:.0f}" for m in _three(line.minutes))] for line in found.lines]


def _port(line: QuoteLine) -> str:
    return line.port or "head"


def _three(range_: Range) -> tuple[float, ...]:
    return range_.low, range_.likely, range_.high


def hours_words(found: QuoteResult) -> str:
    """Return the hours in words."""
    low, likely, high = _three(found.hours)
    return f"{low:.1f} hours at the least, {likely:.1f} most likely, {high:.1f} at the most"


def price_words(found: QuoteResult) -> str:
    """Return the price in words; "" where no hourly rate is given."""
    if found.price is None or found.hourly_rate is None:
        return ""
    low, likely, high = (_money(x) for x in _three(found.price))
    return f"{low} to {high} {found.currency}, most likely {likely}, at {found.hourly_rate:g} {found.currency} an hour"


def _money(amount: float) -> str:
    """Return an amount rounded so that no digit goes beyond what hours can carry."""
    return f"{amount:.0f}"


def quote_text(title: str, found: QuoteResult | None) -> str:
    """Return a quote as text."""
    if found is None:
        return NO_QUOTE
    parts = [f"Quote: {title}", "Minutes:", table(HEADINGS, quote_rows(found), left=3)]
    parts.append(f"Together {hours_words(found)}.")
    if price_words(found):
        parts.append(f"Price {price_words(found)}.")
    parts += missing_lines(found)
    parts += ["Not included:", *(f"  {line}" for line in found.not_included)]
    return "\n".join(parts)


def missing_lines(found: QuoteResult) -> list[str]:
    """Return what the hours leave out for want of a rate."""
    return [f"Not in the hours: {m}." for m in found.missing]


def quote_json(found: QuoteResult | None) -> Json:
    """Return a quote; null where the job gives no rates."""
    if found is None:
        return None
    return {
        "lines": [
            {"port": line.port or None, "what": line.what, "basis": line.basis, "minutes": _range(line.minutes)}
            for line in found.lines
        ],
        "hours": _range(found.hours),
        "price": None if found.price is None else _range(found.price),
        "hourly_rate": found.hourly_rate,
        "currency": found.currency or None,
        "not_included": list(found.not_included),
        "missing": list(found.missing),
    }


def _range(range_: Range) -> Json:
    low, likely, high = (round(x, 3) for x in _three(range_))
    return {"low": low, "likely": likely, "high": high}
