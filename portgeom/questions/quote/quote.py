"""How long does the work take, from low to high, and what does it cost?

Hours are metal over rate, finished wall over rate, and times that are what they are. Every figure is a range; a sum
of ranges is from the sum of the least to the sum of the most, so that no range gets narrower than what it is made of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.quote_values import Quote, Range

NOT_INCLUDED = (
    "valves, guides, seats, springs and seals, and fitting them",
    "milling of deck or faces",
    "pressure and crack testing, and welding or sealing of what is found or opened",
    "gaskets, fastenings, carriage and tax",
)
"""What a quote leaves out where the job does not say."""


def exactly(value: float) -> Range:
    """Return a range of one value."""
    return Range(value, value, value)


def added(ranges: Sequence[Range]) -> Range:
    """Return the sum of ranges: least with least, most with most."""
    return Range(sum(r.low for r in ranges), sum(r.likely for r in ranges), sum(r.high for r in ranges))


def over(amount: float, rate: Range) -> Range:
    """Return how long an amount takes: the least at the highest rate.

    Examples
    --------
    >>> over(6.0, Range(1.0, 2.0, 3.0))
    Range(low=2.0, likely=3.0, high=6.0)
    """
    return Range(amount / rate.high, amount / rate.likely, amount / rate.low)


def times(range_: Range, factor: float) -> Range:
    """Return a range times a factor that is not negative."""
    return Range(range_.low * factor, range_.likely * factor, range_.high * factor)


@dataclass(frozen=True, slots=True)
class Metal:
    """Metal that one cutter takes off a port, and the rate of its own where it has one."""

    cutter: str
    volume_cc: float
    rate_cc_per_min: float | None


@dataclass(frozen=True, slots=True)
class PortWork:
    """What is to be done to one port: metal by cutter, metal that no pass takes, and wall to finish."""

    port: str
    metal: tuple[Metal, ...]
    left_cc: float
    wall_cm2: float


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line: whose port ("" for the whole head), what is done, from what, and how many minutes it takes."""

    port: str
    what: str
    basis: str
    minutes: Range


@dataclass(frozen=True, slots=True)
class QuoteResult:
    """What a job takes and costs.

    Attributes
    ----------
    lines : tuple of QuoteLine
    hours : Range
    price : Range or None
        None where no hourly rate is given.
    hourly_rate : float or None
    currency : str
    not_included : tuple of str
    missing : tuple of str
        What had to be left out of the hours, and what would bring it in.
    """

    lines: tuple[QuoteLine, ...]
    hours: Range
    price: Range | None
    hourly_rate: float | None
    currency: str
    not_included: tuple[str, ...]
    missing: tuple[str, ...]


def quote(given: Quote, ports: Sequence[PortWork]) -> QuoteResult:
    """Return hours and price of the work on some ports of one head."""
    lines: list[QuoteLine] = []
    missing: dict[str, None] = {}
    for work in ports:
        lines += _metal_lines(given, work, missing)
        if given.finish_cm2_per_min is not None:
            basis = f"{work.wall_cm2:.0f} cm2 of wall at {_rate(given.finish_cm2_per_min)} cm2/min"
            lines.append(QuoteLine(work.port, "finish", basis, over(work.wall_cm2, given.finish_cm2_per_min)))
        else:
            missing["finishing: give finish_cm2_per_min in [quote]"] = None
        lines += [QuoteLine(work.port, f.name, "a port", f.minutes) for f in given.fixed if f.each == "port"]
    lines += [QuoteLine("", f.name, "once", f.minutes) for f in given.fixed if f.each == "head"]
    hours = times(added([line.minutes for line in lines]), 1.0 / 60.0)
    price = None if given.hourly_rate is None else times(hours, given.hourly_rate)
    return QuoteResult(
        lines=tuple(lines),
        hours=hours,
        price=price,
        hourly_rate=given.hourly_rate,
        currency=given.currency,
        not_included=given.not_included or NOT_INCLUDED,
        missing=tuple(missing),
    )


def _metal_lines(given: Quote, work: PortWork, missing: dict[str, None]) -> list[QuoteLine]:
    lines = []
    for metal in work.metal:
        rate = given.metal_cc_per_min if metal.rate_cc_per_min is None else exactly(metal.rate_cc_per_min)
        if rate is None:
            missing[f"cutting with {metal.cutter}: give it a rate_cc_per_min, or metal_cc_per_min in [quote]"] = None
            continue
        basis = f"{metal.volume_cc:.1f} cc at {_rate(rate)} cc/min"
        lines.append(QuoteLine(work.port, f"cut with {metal.cutter}", basis, over(metal.volume_cc, rate)))
    if work.left_cc > 0.0:
        if given.metal_cc_per_min is None:
            missing["metal that no pass takes off: give metal_cc_per_min in [quote]"] = None
        else:
            rate = given.metal_cc_per_min
            basis = f"{work.left_cc:.1f} cc at {_rate(rate)} cc/min"
            what = "cut what no pass takes" if work.metal else "cut"
            lines.append(QuoteLine(work.port, what, basis, over(work.left_cc, rate)))
    return lines


def _rate(rate: Range) -> str:
    if rate.low == rate.high:
        return f"{rate.likely:g}"
    return f"{rate.low:g} to {rate.high:g}"
