"""What is told of the head as a whole: its valve jobs, its chamber, what the work takes?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.cutting.passes import passes
from portgeom.questions.handover.record import throat_diameter_mm
from portgeom.questions.quote.quote import Metal, PortWork, QuoteResult, quote
from portgeom.questions.shape.profile import profile
from portgeom.questions.shape.removal import removal
from portgeom.questions.shape.wall_area import wall_area_mm2
from portgeom.questions.valve_job.chamber import ChamberSheet, chamber_sheet
from portgeom.questions.valve_job.seat import SeatSheet, seat_sheet
from portgeom.questions.walls.behind import behind
from portgeom.questions.whole import wanted_of

NOTHING_CC = 0.05
"""Less metal than this prints as none."""


@dataclass(frozen=True, slots=True)
class HeadSheets:
    """The head as a whole; empty and None for what the job says nothing of."""

    seats: tuple[SeatSheet, ...]
    chamber: ChamberSheet | None
    quote: QuoteResult | None


NO_SHEETS = HeadSheets((), None, None)


def head_sheets(job: Job, ports: Sequence[LoftedPort]) -> HeadSheets:
    """Return what is told of a head as a whole, from all of its ports.

    Raises
    ------
    JobError
        Where a target or a pass does not fit its port.
    """
    return HeadSheets(
        seats=seat_sheets(job, ports),
        chamber=chamber_of(job),
        quote=None if job.quote is None else quote_of(job, ports, ports),
    )


def seat_sheets(job: Job, ports: Sequence[LoftedPort]) -> tuple[SeatSheet, ...]:
    """Return a sheet for every valve whose seat or guide was measured, with the throats of its ports as they are."""
    sheets = []
    for valve in job.valves:
        if valve.seat is None and valve.guide is None:
            continue
        own = [p for p in ports if p.port.kind == valve.kind]
        throats = {p.port.name: throat_diameter_mm(profile(p, p.stage(None), job.limits)) for p in own}
        bosses = [p.port.guide.boss_diameter_mm for p in own if p.port.guide is not None]
        sheets.append(seat_sheet(valve, throats_mm=throats, boss_diameter_mm=min(bosses, default=None)))
    return tuple(sheets)


def chamber_of(job: Job) -> ChamberSheet | None:
    """Return the chamber's sheet, or None where the job does not describe it."""
    if job.chamber is None:
        return None
    deck = 0.0 if job.milling is None else job.milling.deck_mm
    return chamber_sheet(job.chamber, job.valves, deck_mm=deck, engine=job.engine)


def quote_of(
    job: Job,
    ports: Sequence[LoftedPort],
    chosen: Sequence[LoftedPort],
    *,
    stage_name: str | None = None,
) -> QuoteResult | None:
    """Return the quote for some ports, from the port as it came in or a named stage; None without rates.

    Raises
    ------
    JobError
        Where a target or a pass does not fit its port.
    """
    if job.quote is None:
        return None
    work = [port_work(job, ports, port, port.cast if stage_name is None else port.stage(stage_name)) for port in chosen]
    return quote(job.quote, work)


def port_work(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage) -> PortWork:
    """Return what is to be done to a port: metal by cutter as its passes take it, the rest, and wall to finish."""
    wanted = wanted_of(job, ports, port)
    metal = removal(port, stage, wanted, density_g_cc=job.density_g_cc)
    plan = passes(job, port, stage, wanted, behind(job, port))
    by_cutter: dict[str, float] = {}
    rates: dict[str, float | None] = {}
    for result in plan.results:
        cutter = result.plan.cutter
        by_cutter[cutter.name] = by_cutter.get(cutter.name, 0.0) + result.volume_mm3 / 1000.0
        rates[cutter.name] = cutter.rate_cc_per_min
    left = (plan.results[-1].left_mm3 if plan.results else metal.volume_mm3) / 1000.0
    return PortWork(
        port=port.port.name,
        metal=tuple(Metal(name, cc, rates[name]) for name, cc in by_cutter.items() if cc >= NOTHING_CC),
        left_cc=left if left >= NOTHING_CC else 0.0,
        wall_cm2=wall_area_mm2(metal.after, to_mm=port.throat_mm) / 100.0,
    )
