"""What does a port's record read like, before and after, to a person and to a program?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from portgeom.job.amounts import in_unit
from portgeom.output.words.names import short
from portgeom.output.words.shown import percent

if TYPE_CHECKING:
    from portgeom.job.flow_values import FlowReading, Stated
    from portgeom.job.receipt_values import Opened, Receipt
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown
    from portgeom.questions.handover.record import PortRecord, StageRecord
    from portgeom.questions.walls.walls import Wall

T = TypeVar("T")

MOST_LIFTS = 3
"""Lifts told of one port on a page to sign; the report has all of them."""

MOST_WALLS = 3
"""Walls told of one port on a page to sign, the least first."""


def record_headings(records: Sequence[PortRecord]) -> list[str]:
    """Return the headings: each port with the stages its figures are of."""
    return ["", *(f"port {short(r.port, 16)}" for r in records)]


def record_rows(records: Sequence[PortRecord], shown: Shown) -> list[list[str]]:
    """Return what was measured as rows, a column a port, as ``before to after``; rows of nothing are left out."""
    u = shown.units
    rows = [["measured", *(_stages(r) for r in records)]]
    rows.append(
        ["poured, cc", *(_pair(r, lambda s: "" if s.poured_cc is None else f"{s.poured_cc:.1f}") for r in records)]
    )
    rows.append(["by its sections, cc", *(_pair(r, lambda s: shown.volume_number(s.volume_mm3)) for r in records)])
    for place in dict.fromkeys(p.place for r in records for p in r.places):
        cells = []
        for r in records:
            found = next((p for p in r.places if p.place == place), None)
            known = () if found is None else (found.before_mm2, found.after_mm2)
            cells.append(_to([shown.area_number(x) for x in known if x is not None]))
        rows.append([f"area at the {place}, {u}2", *cells])
    rows.append(
        [f"smallest area, {u}2", *(_pair(r, lambda s: shown.area_number(s.smallest.area_mm2)) for r in records)]
    )
    rows.append([f"throat, {u}", *(_pair(r, lambda s: shown.number(s.throat_mm)) for r in records)])
    rows.append(["throat of the valve's head", *(_throat(r) for r in records)])
    return [row for row in rows if any(row[1:])]


def _throat(record: PortRecord) -> str:
    """Return the throat of a port as last measured, as a share of its valve's head."""
    share = (record.after or record.before).throat_percent
    return "" if share is None else percent(share)


def _stages(record: PortRecord) -> str:
    return _to([record.before.stage, *([] if record.after is None else [record.after.stage])])


def _pair(record: PortRecord, figure: Callable[[StageRecord], str]) -> str:
    known = [figure(s) for s in (record.before, record.after) if s is not None]
    return _to([k for k in known if k])


def _to(known: Sequence[str]) -> str:
    return " to ".join(known)


def wall_lines(records: Sequence[PortRecord], shown: Shown) -> list[str]:
    """Return the least metal left behind the walls, a line a port; nothing where nothing is known."""
    lines = []
    for record in records:
        standing = record.standing[:MOST_WALLS]
        if standing:
            lines.append(f"Port {record.port}: " + "; ".join(_wall(w, shown) for w in standing) + ".")
    return lines


def _wall(wall: Wall, shown: Shown) -> str:
    assert wall.least is not None
    said = ", thinner than its limit" if wall.verdict == "thin" else ""
    return f"{shown.length(wall.least.wall_mm)} to {wall.hazard}{said}"


def opened_lines(records: Sequence[PortRecord], opened: Sequence[Opened]) -> list[str]:
    """Return what was opened and how it was sealed, and what is open by the readings though nobody says so."""
    names = {r.port for r in records}
    lines = []
    for one in opened:
        if one.port in names:
            sealed = f"sealed: {one.sealed}" if one.sealed else "nothing is said of sealing it"
            tested = f"; tested: {one.tested}" if one.tested else "; no test of it is told"
            lines.append(f"Port {one.port}, {one.where}: opened, {sealed}{tested}.")
    said = {(o.port, o.where) for o in opened}
    for record in records:
        lines += [
            f"Port {record.port}, {w.hazard}: open by the readings, and nothing is said of sealing it."
            for w in record.opened
            if (record.port, w.hazard) not in said
        ]
    return lines


def flow_rows(readings: Sequence[FlowReading], records: Sequence[PortRecord], shown: Shown) -> list[list[str]]:
    """Return bench readings as rows: port, lift, depression, then the flow of each stage, before to after."""
    rows = []
    for record in records:
        stages, own, keys = _read_at(readings, record)
        for lift, depression in spread(keys, MOST_LIFTS):
            rates = [
                next(
                    (
                        stated(r.rate)
                        for r in own
                        if (r.stage, r.lift_mm, stated(r.depression)) == (s, lift, depression)
                    ),
                    "",
                )
                for s in stages
            ]
            rows.append([record.port, shown.number(lift), depression, _flow_pair(stages, rates)])
    return rows


def lifts_left_out(readings: Sequence[FlowReading], records: Sequence[PortRecord]) -> list[str]:
    """Return how many lifts were read, for ports of which not all are shown."""
    counts = [(record.port, len(_read_at(readings, record)[2])) for record in records]
    more = [f"{MOST_LIFTS} of {count} lifts of port {port}" for port, count in counts if count > MOST_LIFTS]
    return [f"Shown: {', '.join(more)}; all are in the report."] if more else []


def _read_at(
    readings: Sequence[FlowReading], record: PortRecord
) -> tuple[list[str], list[FlowReading], list[tuple[float, str]]]:
    """Return the stages a record goes from and to, their readings, and every lift and depression read at."""
    stages = [s.stage for s in (record.before, record.after) if s is not None]
    own = [r for r in readings if r.port == record.port and r.stage in stages]
    return stages, own, sorted(dict.fromkeys((r.lift_mm, stated(r.depression)) for r in own))


def spread(items: Sequence[T], most: int) -> list[T]:
    """Return at most so many of some items, first and last among them, evenly spread.

    Examples
    --------
    >>> spread([1, 2, 3, 4, 5], 3)
    [1, 3, 5]
    """
    if len(items) <= most:
        return list(items)
    return [items[round(k * (len(items) - 1) / (most - 1))] for k in range(most)]


def _flow_pair(stages: Sequence[str], rates: Sequence[str]) -> str:
    known = [(s, r) for s, r in zip(stages, rates, strict=True) if r]
    return _to([r for _, r in known]) if len(known) == len(stages) > 1 else ", ".join(f"{s} {r}" for s, r in known)


def stated(amount: Stated) -> str:
    """Return an amount as a person wrote it."""
    return f"{in_unit(amount.amount, amount.unit):.4g} {amount.unit}"


def receipt_rows(receipt: Receipt, material: str, shown: Shown) -> list[tuple[str, str]]:
    """Return a head as received, by name; "" for what was not looked at."""
    limit = receipt.most_flatness_mm

    def flat(value: float | None) -> str:
        if value is None:
            return ""
        digits = ".2f" if shown.units == "mm" else ".4f"
        scale = 1.0 if shown.units == "mm" else 25.4
        words = f"out by {value / scale:{digits}} {shown.units}"
        if limit is None:
            return words
        verdict = "more than" if value > limit else "within"
        return f"{words}, {verdict} your limit of {limit / scale:{digits}} {shown.units}"

    return [
        ("marking on the head", receipt.head),
        ("owner", receipt.owner),
        ("date", receipt.date),
        ("material", material),
        ("pressure test", receipt.pressure_test),
        ("crack test", receipt.crack_test),
        ("deck", flat(receipt.deck_flatness_mm)),
        ("manifold face", flat(receipt.face_flatness_mm)),
    ]


def record_json(record: PortRecord, n: Numbers) -> dict[str, Json]:
    """Return one port's record; null for what was not measured."""
    return {
        "before": _stage_json(record.before, n),
        "after": None if record.after is None else _stage_json(record.after, n),
        "places": [
            {
                "place": p.place,
                "before": None if p.before_mm2 is None else n.area(p.before_mm2),
                "after": None if p.after_mm2 is None else n.area(p.after_mm2),
            }
            for p in record.places
        ],
        "walls": [
            {"hazard": w.hazard, "wall": n.length(w.least.wall_mm), "verdict": w.verdict}
            for w in record.walls
            if w.least is not None
        ],
    }


def _stage_json(stage: StageRecord, n: Numbers) -> Json:
    return {
        "stage": stage.stage,
        "volume_cc": round(stage.volume_mm3 / 1000.0, 3),
        "poured_cc": stage.poured_cc,
        "throat_diameter": n.length(stage.throat_mm),
        "throat_percent": None if stage.throat_percent is None else round(stage.throat_percent, 2),
        "smallest": {"distance": n.length(stage.smallest.distance_mm), "area": n.area(stage.smallest.area_mm2)},
    }


def flow_json(readings: Sequence[FlowReading], record: PortRecord, n: Numbers) -> list[Json]:
    """Return the bench readings of one port's stages, as they were stated."""
    stages = [s.stage for s in (record.before, record.after) if s is not None]
    return [
        {"stage": r.stage, "lift": n.length(r.lift_mm), "depression": stated(r.depression), "rate": stated(r.rate)}
        for r in readings
        if r.port == record.port and r.stage in stages
    ]
