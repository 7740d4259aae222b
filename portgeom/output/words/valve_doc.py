"""What do a valve job, a chamber and an exhaust port's figures read like, at the bench and to a program?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.words.shown import percent

if TYPE_CHECKING:
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown
    from portgeom.questions.valve_job.chamber import ChamberSheet, Milled, RoomAt, ValveRoom
    from portgeom.questions.valve_job.exhaust import Exhaust
    from portgeom.questions.valve_job.limits import Limit
    from portgeom.questions.valve_job.seat import CutAt, Figure, SeatSheet

FINE_MM = 0.1
"""Sizes under this are told to a thousandth where they have one."""

MILLED_WORDS = "A milled deck brings valves nearer to pistons and changes pushrods and timing: check each first."

_BY_THE_CLOCK = "by the clock as seen from the chamber, the manifold face at 12."

CLOCK_WORDS: dict[Units, str] = {
    "mm": f"From the valve's edge in mm, {_BY_THE_CLOCK}",
    "in": f"From the valve's edge in inches, {_BY_THE_CLOCK}",
}


def whose(limit: Limit) -> str:
    """Return whose a limit is, in words."""
    return "your limit" if limit.source == "job" else "common practice"


def bound_words(limit: Limit, low: str, high: str) -> str:
    """Return a limit in words, its numbers already as text."""
    if math.isinf(limit.low) or (limit.low == 0.0 and not math.isinf(limit.high)):
        return f"at most {high}"
    return f"at least {low}" if math.isinf(limit.high) else f"{low} to {high}"


def percent_limit(limit: Limit) -> str:
    """Return a limit of percents in words, with whose it is."""
    return f"{bound_words(limit, f'{limit.low:g}', f'{limit.high:g}')} ({whose(limit)})"


def micro(length_mm: float, shown: Shown) -> str:
    """Return a small size without its unit: to 0.01 mm or 0.0005 in, as it is measured.

    Examples
    --------
    >>> from portgeom.output.words.shown import Shown
    >>> micro(0.04, Shown("mm"))
    '0.04'
    """
    value = length_from_mm(length_mm, shown.units)
    if shown.units == "mm":
        # a clearance is told to a thousandth where a hundredth would round a limit away
        text = f"{value:.3f}" if abs(value) < FINE_MM else f"{value:.2f}"
        return text[:-1] if len(text.partition(".")[2]) == 3 and text.endswith("0") else text
    return f"{value:.4f}"


def figure_value(figure: Figure, shown: Shown) -> str:
    """Return a figure with its unit."""
    if figure.unit == "percent":
        return percent(figure.value)
    if figure.unit == "times":
        return f"{figure.value:.1f} times"
    return f"{micro(figure.value, shown)} {shown.units}"


def figure_limit(figure: Figure, shown: Shown) -> list[str]:
    """Return a figure's limit in words, and whose it is; "" where there is none."""
    limit = figure.limit
    if limit is None:
        return ["", ""]
    low, high = (f"{x:g}" if figure.unit == "percent" else micro(x, shown) for x in (limit.low, limit.high))
    return [bound_words(limit, low, high), whose(limit)]


def valve_name(kind: str) -> str:
    """Return the name of a valve's sheet."""
    return f"{kind.capitalize()} valve"


def sheet_rows(sheet: SeatSheet, shown: Shown) -> list[list[str]]:
    """Return the figures of a valve job as rows: what, how much, its limit and whose, whether it holds."""
    valve = sheet.valve
    sizes = f"{shown.number(valve.head_diameter_mm)} and {micro(valve.stem_diameter_mm, shown)} {shown.units}"
    rows = [["valve's head and stem", sizes, "", "", ""]]
    for figure in sheet.figures:
        verdict = "" if figure.limit is None else "holds" if figure.sound else "OUTSIDE"
        rows.append([figure.name, figure_value(figure, shown), *figure_limit(figure, shown), verdict])
    return rows


def cut_rows(sheet: SeatSheet, shown: Shown) -> list[list[str]]:
    """Return the cuts as rows: angle, width along the slope, from and to diameter, depth."""
    return [_cut_row(cut, shown) for cut in sheet.cuts]


def _cut_row(cut: CutAt, shown: Shown) -> list[str]:
    return [
        f"{cut.angle_deg:g} degrees" + (", seats" if cut.seats else ""),
        micro(cut.width_mm, shown),
        micro(cut.outer_mm, shown),
        micro(cut.inner_mm, shown),
        micro(cut.deep_mm, shown),
    ]


def cut_headings(shown: Shown) -> list[str]:
    """Return the headings of the cuts."""
    u = shown.units
    return ["cut, from the chamber", f"width, {u}", f"outer diameter, {u}", f"inner diameter, {u}", f"deep, {u}"]


def remark_lines(sheet: SeatSheet) -> list[str]:
    """Return what the cuts do not agree with, as sentences."""
    return [f"{r[:1].upper()}{r[1:]}." for r in sheet.remarks]


def sheet_json(sheet: SeatSheet, n: Numbers) -> Json:
    """Return a valve job."""
    return {
        "kind": sheet.valve.kind,
        "figures": [
            {
                "name": f.name,
                "value": round(f.value, 3) if f.unit != "mm" else n.length(f.value),
                "unit": n.units if f.unit == "mm" else f.unit,
                "limit": None if f.limit is None else _limit_json(f.limit, n, length=f.unit == "mm"),
                "holds": f.sound,
            }
            for f in sheet.figures
        ],
        "cuts": [
            {
                "angle_deg": c.angle_deg,
                "width": n.length(c.width_mm),
                "outer": n.length(c.outer_mm),
                "inner": n.length(c.inner_mm),
                "deep": n.length(c.deep_mm),
                "seats": c.seats,
            }
            for c in sheet.cuts
        ],
        "remarks": list(sheet.remarks),
    }


def _limit_json(limit: Limit, n: Numbers, *, length: bool) -> Json:
    low, high = (None if math.isinf(x) else n.length(x) if length else x for x in (limit.low, limit.high))
    return {"low": low, "high": high, "from": limit.source}


def chamber_lines(sheet: ChamberSheet, shown: Shown) -> list[str]:
    """Return what is known of a chamber, a sentence a line; nothing where nothing is."""
    lines = [_room_line(v, shown) for v in sheet.valves if _leasts(v)]
    if sheet.between_mm is not None:
        words = f"{micro(abs(sheet.between_mm), shown)} {shown.units}"
        crossed = sheet.between_mm < 0.0
        lines.append(
            f"The valves' heads overlap by {words}." if crossed else f"Between the two valves' heads: {words}."
        )
    if sheet.now is not None:
        lines.append(f"The chamber holds {sheet.now.volume_cc:.1f} cc as poured{_ratio(sheet.now)}.")
    if sheet.deck_area_mm2 is not None and sheet.now is not None:
        each = sheet.deck_area_mm2 * (0.1 if shown.units == "mm" else 0.127) / 1000.0
        step = "0.1 mm" if shown.units == "mm" else "0.005 in"
        lines.append(
            f"Its area at the deck is {shown.area(sheet.deck_area_mm2)}: every {step} off the deck takes {each:.2f} cc."
        )
    if sheet.milled is not None:
        deck = f"{micro(sheet.milled.deck_mm, shown)} {shown.units}"
        lines.append(f"With {deck} off the deck it holds {sheet.milled.volume_cc:.1f} cc{_ratio(sheet.milled)}.")
        lines.append(MILLED_WORDS)
    if sheet.to_wanted_mm is not None:
        deck = f"{micro(abs(sheet.to_wanted_mm), shown)} {shown.units}"
        lines.append(
            f"For the volume wanted take {deck} off the deck."
            if sheet.to_wanted_mm > 0.0
            else f"It is smaller than wanted already, by as much as {deck} of deck."
        )
    if sheet.assumed:
        lines.append(f"For the compression ratio {'; '.join(sheet.assumed)}.")
    return lines


def _ratio(milled: Milled) -> str:
    return "" if milled.ratio is None else f", compression {milled.ratio:.2f} to 1"


def _leasts(room: ValveRoom) -> list[tuple[str, float]]:
    known = (("the chamber's wall", room.least_chamber_mm), ("the bore", room.least_bore_mm))
    return [(name, least) for name, least in known if least is not None]


def _room_line(room: ValveRoom, shown: Shown) -> str:
    parts = []
    for name, least in _leasts(room):
        if least < 0.0:
            parts.append(f"{micro(-least, shown)} {shown.units} past {name}")
        else:
            parts.append(f"{micro(least, shown)} {shown.units} from {name}")
    limit = f"{micro(room.limit.low, shown)} {shown.units}, {whose(room.limit)}"
    said = "holds" if room.sound else "too near"
    return f"{valve_name(room.kind)}: its edge is at the least {' and '.join(parts)} (at least {limit}): {said}."


def room_headings() -> list[str]:
    """Return the headings of the table of rooms: the hours."""
    return ["", *(str(k or 12) for k in range(12))]


def room_rows(sheet: ChamberSheet, shown: Shown) -> list[list[str]]:
    """Return how far each valve's edge is from each wall that is known, a row a wall, an hour a column."""
    return [
        [f"{valve.kind} to {wall}", *(_short(_to(at, wall), shown) for at in valve.round)]
        for valve in sheet.valves
        for wall in _walls_of(valve)
    ]


def _short(length_mm: float, shown: Shown) -> str:
    """Return a length to 0.1 mm or 0.01 in: the least of them are told better beside the table."""
    return shown.number(length_mm) if shown.units == "mm" else f"{length_from_mm(length_mm, shown.units):.2f}"


def _walls_of(room: ValveRoom) -> list[str]:
    known = (("chamber", room.least_chamber_mm), ("bore", room.least_bore_mm))
    return [name for name, least in known if least is not None]


def _to(at: RoomAt, wall: str) -> float:
    distance = at.chamber_mm if wall == "chamber" else at.bore_mm
    assert distance is not None
    return distance


def chamber_json(sheet: ChamberSheet, n: Numbers) -> Json:
    """Return a chamber; null for what was not measured."""

    def maybe(x: float | None) -> float | None:
        return None if x is None else n.length(x)

    def state(m: Milled | None) -> Json:
        if m is None:
            return None
        ratio = None if m.ratio is None else round(m.ratio, 3)
        return {"deck": n.length(m.deck_mm), "volume_cc": round(m.volume_cc, 3), "ratio": ratio}

    return {
        "valves": [
            {
                "kind": v.kind,
                "least_to_chamber": maybe(v.least_chamber_mm),
                "least_to_bore": maybe(v.least_bore_mm),
                "limit": _limit_json(v.limit, n, length=True),
                "round": [
                    {"clock": a.clock_deg, "to_chamber": maybe(a.chamber_mm), "to_bore": maybe(a.bore_mm)}
                    for a in v.round
                ],
            }
            for v in sheet.valves
        ],
        "between_valves": maybe(sheet.between_mm),
        "deck_area": None if sheet.deck_area_mm2 is None else n.area(sheet.deck_area_mm2),
        "now": state(sheet.now),
        "milled": state(sheet.milled),
        "to_wanted": maybe(sheet.to_wanted_mm),
        "assumed": list(sheet.assumed),
    }


def exhaust_words(found: Exhaust, shown: Shown) -> list[str]:
    """Return how an exhaust port stands to common practice, one sentence each, without full stops."""
    lines = []
    if found.throat_percent is not None:
        limit = percent_limit(found.throat_limit)
        said = "" if found.throat_limit.holds(found.throat_percent) else ": outside that"
        lines.append(f"Its throat is {percent(found.throat_percent)} of the valve's head, of {limit}{said}")
    limit = percent_limit(found.face_limit)
    said = "" if found.face_limit.holds(found.face_percent) else ": outside that"
    lines.append(f"Its face has {percent(found.face_percent)} of the throat's area, of {limit}{said}")
    if found.floor_kept:
        lines.append("Its floor is kept where it was cast, as common practice has it")
    else:
        lines.append(
            f"Its floor lies up to {shown.length(found.floor_lower_mm)} lower than as cast; common practice keeps it"
        )
    return lines


def exhaust_lines(found: Exhaust, shown: Shown) -> list[str]:
    """Return the same as lines of text below a taper."""
    return ["As an exhaust:", *(f"  {line[:1].lower()}{line[1:]}" for line in exhaust_words(found, shown))]
