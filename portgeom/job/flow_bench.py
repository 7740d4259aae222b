"""What does a job say of its flow-bench readings, the air they were taken in, and the engine?"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass

from portgeom.job.amounts import flow_rate
from portgeom.job.faults import Spot, shown
from portgeom.job.flow_values import AirGiven, Engine, FlowReading, Stated
from portgeom.job.keys import Entry
from portgeom.job.kinds import distance
from portgeom.job.values import Units

MOST_READINGS = 100
"""Readings of one [[flow]]."""


class Date:
    """A day, as TOML writes one or as text, year first."""

    def read(self, value: object, spot: Spot, units: Units) -> str | None:
        """Return the day as year-month-day."""
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value.isoformat()
        if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
            try:
                return datetime.date.fromisoformat(value).isoformat()
            except ValueError:
                pass
        spot.fault(f"{shown(value)} is not a day", "write year, month and day, as 2026-03-14")
        return None


@dataclass(frozen=True, slots=True)
class LiftAndRate:
    """One row of readings: a lift in mm and the flow there."""

    lift_mm: float
    rate: Stated


class LiftsAndRates:
    """Rows of a lift and the flow there, one at least."""

    def read(self, value: object, spot: Spot, units: Units) -> tuple[LiftAndRate, ...] | None:
        """Return the rows, lifts in mm."""
        form = '[lift, "rate"], as [10.0, "225 cfm"]'
        if not isinstance(value, list) or not 1 <= len(value) <= MOST_READINGS:
            spot.fault(f"{shown(value)} is not a list of readings", f"give from 1 to {MOST_READINGS} rows of {form}")
            return None
        rows = []
        for i, row in enumerate(value, start=1):
            here = spot.part(f"row {i}")
            if not isinstance(row, list) or len(row) != 2:
                here.fault(f"{shown(row)} is not a reading", f"give {form}")
                continue
            lift = distance().read(row[0], here.part("lift"), units)
            rate = flow_rate().read(row[1], here.part("rate"), units)
            if lift is not None and rate is not None:
                rows.append(LiftAndRate(lift, rate))
        return tuple(rows) if len(rows) == len(value) else None


def read_flow(entry: Entry, number: int) -> tuple[FlowReading, ...]:
    """Return the bench readings of one [[flow]], none where something is wrong with it."""
    before = entry.source.gathered.count
    one, many = {"lift", "rate"} & entry.given, "readings" in entry.given
    if many and one:
        entry.spot("readings").fault("stands beside lift or rate", "give either lift and rate, or readings")
        return ()
    if not many and one != {"lift", "rate"}:
        for missing in sorted({"lift", "rate"} - one):
            entry.spot(missing).fault(
                "is missing",
                'give lift and rate, or readings = [[lift, "rate"], ...]',
            )
        return ()
    rows, leak = _rows(entry), entry.stated("leak")
    where = "readings" if many else "rate"
    for row in rows:
        if leak is not None and leak.quantity == row.rate.quantity and leak.amount >= row.rate.amount:
            entry.spot("leak").fault("is no less than the flow itself", "give what flows with the valve shut")
    depression = entry.stated("depression")
    if not entry.complete or entry.source.gathered.count > before or depression is None:
        return ()
    return tuple(
        FlowReading(
            port=entry.text("port"),
            stage=entry.text("stage"),
            depression=depression,
            lift_mm=row.lift_mm,
            rate=row.rate,
            leak=leak,
            bench=entry.text("bench"),
            date=entry.text("date"),
            entry_radius_mm=entry.number("entry_radius"),
            exhaust_pipe=entry.text("exhaust_pipe"),
            air=read_air(entry.table("air")),
            number=number,
            row=entry.spot(where).row or 0,
        )
        for row in rows
    )


def _rows(entry: Entry) -> tuple[LiftAndRate, ...]:
    rows = entry.values.get("readings")
    if isinstance(rows, tuple):
        return rows
    lift, rate = entry.number("lift"), entry.stated("rate")
    return () if lift is None or rate is None else (LiftAndRate(lift, rate),)


def read_flows(entries: Iterable[Entry]) -> tuple[FlowReading, ...]:
    """Return every bench reading of a job, in the order they stand there."""
    return tuple(r for number, entry in enumerate(entries, start=1) for r in read_flow(entry, number))


def read_air(entry: Entry | None) -> AirGiven | None:
    """Return the air as far as it is stated, None where nothing is."""
    if entry is None:
        return None
    temperature, pressure, humidity = entry.stated("temperature"), entry.stated("pressure"), entry.number("humidity")
    return AirGiven(
        temperature_k=None if temperature is None else temperature.amount,
        pressure_pa=None if pressure is None else pressure.amount,
        humidity=None if humidity is None else humidity / 100.0,
    )


def read_engine(entry: Entry | None) -> Engine | None:
    """Return the engine, or None where there is none or something is wrong with it."""
    if entry is None or not entry.complete:
        return None
    return Engine(
        bore_mm=entry.sure("bore"),
        stroke_mm=entry.sure("stroke"),
        speed_rpm=entry.sure("rpm"),
        volumetric_efficiency=entry.number("volumetric_efficiency"),
        intake_valves=entry.whole("intake_valves") or 1,
        flow_coefficient=entry.number("flow_coefficient"),
        speed_limit=entry.stated("speed_limit"),
    )
