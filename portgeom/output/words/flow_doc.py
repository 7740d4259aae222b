"""What does the flow of a port read like at the bench? Named places first, then the rest, the limits last."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from portgeom.job.values import Job
from portgeom.output.words.flow_shown import FlowShown, air_words
from portgeom.output.words.flow_words import (
    COEFFICIENTS,
    KIND_WORDS,
    LIMITS,
    OVERLAP,
    basis_words,
    bend_words,
    circumstances,
    cone_words,
    demand_words,
    fastest_words,
    larger_words,
    loss_name,
    loss_shape,
    methods_words,
    missing_words,
    pair_words,
    point_notes,
    range_words,
    theory_words,
    throat_words,
    valve_words,
)
from portgeom.output.words.tables import table
from portgeom.output.words.text import heading
from portgeom.questions.flow.bench import BenchPoint
from portgeom.questions.flow.demand import HeldHead
from portgeom.questions.flow.losses import Losses, Stretch
from portgeom.questions.flow.side_by_side import SideBySide
from portgeom.questions.flow.valve import ValveAreas
from portgeom.questions.flow.whole import FlowAnswers, FlowState
from portgeom.questions.shape.places import bench_scale

COLUMNS = 80
MOST_STRETCHES = 5
"""Stretches between stations that are named; a program gets all of them."""


def flow_text(job: Job, answer: FlowAnswers, fs: FlowShown) -> str:
    """Return every answer on flow for one stage of a port."""
    state = answer.state
    lines = [f"{heading(state.port, state.stage)}: flow"]
    lines += _places(state, fs)
    lines += ["", *_speeds(state, fs)]
    if answer.valve is not None:
        lines += ["", *_valve(answer.valve, answer.throat_differs, fs)]
    if state.points:
        lines += ["", *_bench(state.points, fs)]
    if answer.demand is not None:
        lines += ["", "Demand of one cylinder", *_wrapped(demand_words(answer.demand, fs, state))]
    if answer.larger:
        heads = table(*heads_table(answer.larger, fs), left=0)
        lines += ["", "A larger valve", heads, *_wrapped(larger_words(answer.larger, fs))]
    lines += ["", *_losses(answer.losses, state, fs)]
    missing = missing_words(answer, engine=job.engine is not None)
    if missing:
        lines += ["", "To have more", *_wrapped(missing)]
    return "\n".join(lines)


def side_by_side_text(beside: SideBySide, fs: FlowShown, state: FlowState) -> str:
    """Return siblings and stages at one depression, and the readings before and after; "" for one alone."""
    if len(beside.states) < 2:
        return ""
    return "\n".join(
        [
            f"Side by side at {fs.pressure(beside.depression_pa)}",
            table(*beside_table(beside, fs, state), left=2),
            *_wrapped(
                [
                    "Most is what would pass if the smallest section ran at the theoretical speed; places in percent "
                    "of each one's own net throat; read is the largest reading, brought to this depression."
                ]
            ),
            *_wrapped([words for pair in beside.pairs for words in pair_words(pair, fs)]),
        ]
    )


def beside_table(beside: SideBySide, fs: FlowShown, state: FlowState) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of states side by side."""
    shown, air = fs.shown, state.air
    names = [n for n in ("pinch", "turn", "bowl") if any(p.name == n for s in beside.states for p in s.places)]
    rows = []
    for s in beside.states:
        shares = {str(p.name): f"{p.throat_percent:.0f}" for p in s.places}
        rows.append(
            [
                s.port,
                s.stage,
                shown.volume_number(s.volume_mm3),
                shown.area_number(s.smallest_mm2),
                shown.number(s.smallest_at_mm),
                *(shares.get(n, "-") for n in names),
                fs.flow_number(s.most_m3_s, air),
                "-" if s.best_m3_s is None else fs.flow_number(s.best_m3_s, air),
            ]
        )
    units = shown.units
    head = ["port", "stage", "cc", f"least {units}2", f"at {units}", *names, f"most {fs.flow_unit}", "read"]
    return head, rows


def limits_text() -> str:
    """Return the limits of the method."""
    return "\n".join(["What this is and is not", *_wrapped(LIMITS)])


def _places(state: FlowState, fs: FlowShown) -> list[str]:
    return [
        table(*_last_left(*places_table(state, fs)), left=1),
        *_wrapped([throat_words(state, fs), basis_words(state, fs), f"Air: {air_words(state.air, fs.shown)}."]),
    ]


def places_table(state: FlowState, fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of the named places."""
    shown, units = fs.shown, fs.shown.units
    head = ["place", f"at {units}", f"area {units}2", "net", "% throat", fs.speed_unit, "believable %"]
    rows = [
        [
            p.name,
            shown.number(p.at.distance_mm),
            shown.area_number(p.at.flow_area_mm2),
            shown.area_number(p.at.net_mm2),
            f"{p.at.throat_percent:.1f}",
            fs.speed_number(p.at.speed_m_s),
            range_words(p),
        ]
        for p in state.along.places
    ]
    return head, rows


def _speeds(state: FlowState, fs: FlowShown) -> list[str]:
    where = fs.shown.place(state.along.fastest.distance_mm, bench_scale(state.stage.surface))
    return [
        "Speed along the port",
        table(*speeds_table(state, fs), left=2),
        *_wrapped([fastest_words(state.along, where, fs), theory_words(state, fs)]),
    ]


def speeds_table(state: FlowState, fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of the stations."""
    shown, units = fs.shown, fs.shown.units
    head = ["station", "place", f"at {units}", f"net {units}2", "x smallest", fs.speed_unit, "Mach"]
    rows = [
        [
            s.station,
            s.place,
            shown.number(s.distance_mm),
            shown.area_number(s.net_mm2),
            f"{s.ratio_to_smallest:.3f}",
            fs.speed_number(s.speed_m_s),
            f"{s.mach:.3f}",
        ]
        for s in state.along.stations
    ]
    return head, rows


def _valve(areas: ValveAreas, differs: float | None, fs: FlowShown) -> list[str]:
    return ["Valve", table(*valve_table(areas, fs), left=0), *_wrapped(valve_words(areas, differs, fs))]


def valve_table(areas: ValveAreas, fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of a valve against lift."""
    shown, units = fs.shown, fs.shown.units
    head = [f"lift {units}", "lift/head", f"curtain {units}2", "opening", "regime", "smallest", f"{units}2"]
    rows = [
        [
            shown.number(o.lift_mm) + ("*" if o.beyond_quarter else ""),
            f"{o.lift_ratio:.3f}",
            shown.area_number(o.curtain_mm2),
            shown.area_number(o.opening_mm2),
            o.regime,
            o.smallest,
            shown.area_number(o.smallest_mm2),
        ]
        for o in areas.openings
    ]
    return head, rows


def _bench(points: Sequence[BenchPoint], fs: FlowShown) -> list[str]:
    words = circumstances(points, fs)
    if any(p.coefficients is not None for p in points):
        words.append(COEFFICIENTS)
    return ["Bench readings", table(*bench_table(points, fs), left=0), *_wrapped([*words, *point_notes(points, fs)])]


def bench_table(points: Sequence[BenchPoint], fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of bench readings."""
    shown, units = fs.shown, fs.shown.units
    head = [f"lift {units}", fs.flow_unit, f"eff. {units}2"]
    valve = any(p.coefficients is not None for p in points)
    head += ["C curtain", "C opening", "C throat", "C head", "smallest"] if valve else []
    rows = []
    for p in points:
        c = p.coefficients
        four = ["-"] * 4 if c is None else [f"{x:.2f}" for x in (c.curtain, c.opening, c.throat, c.head)]
        rows.append(
            [
                shown.number(p.reading.lift_mm) + ("*" if p.beyond_quarter else ""),
                fs.flow_number(p.volume_m3_s, p.air),
                shown.area_number(p.effective_mm2),
                *([*four, p.limits or "-"] if valve else []),
            ]
        )
    return head, rows


def heads_table(heads: Sequence[HeldHead], fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of valve heads side by side, the present one first."""
    shown, units = fs.shown, fs.shown.units
    names = [str(name) for name, _ in heads[0].percent]
    rows = [
        [
            shown.number(h.head_diameter_mm),
            f"{h.area_ratio:.3f}",
            shown.area_number(h.throat_net_mm2),
            *(f"{share:.0f}" for _, share in h.percent),
        ]
        for h in heads
    ]
    return [f"head {units}", "x area", f"net throat {units}2", *names], rows


def _losses(found: Losses, state: FlowState, fs: FlowShown) -> list[str]:
    if not found.ranked:
        return ["Losses: fewer than two stations up to the throat."]
    words = overlap_words(found)
    words += [bend_words(b, state, fs) for b in found.bends]
    words += [cone_words(x, fs) for x in found.ranked if x.cone is not None]
    words.append(methods_words(found.ranked))
    top = sorted(found.stretches, key=lambda s: -(s.low_pa + s.high_pa))[:MOST_STRETCHES]
    return [
        "Where total pressure is lost, largest first",
        table(*losses_table(found, state, fs), left=3),
        *_wrapped(words),
        "From station to station, the largest",
        table(*stretches_table(top, fs), left=1),
    ]


def losses_table(found: Losses, state: FlowState, fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of losses, ranked; "=" where a spread overlaps with the one before."""
    whole = state.along.basis.depression.amount
    rows = []
    for k, loss in enumerate(found.ranked):
        rows.append(
            [
                f"{k + 1}{'=' if _overlaps(found, k) else ''}",
                loss_name(loss, fs),
                loss_shape(loss),
                fs.pressure_span(loss.low_pa, loss.high_pa),
                percent_span(100.0 * loss.low_pa / whole, 100.0 * loss.high_pa / whole),
            ]
        )
    return ["", f"what, where in {fs.shown.units}", "shape, area", fs.pressure_unit, "% of all"], rows


def overlap_words(found: Losses) -> list[str]:
    """Return what "=" means, where a loss has it."""
    return [OVERLAP] if any(_overlaps(found, k) for k in range(len(found.ranked))) else []


def _overlaps(found: Losses, k: int) -> bool:
    return k > 0 and found.ranked[k].high_pa >= found.ranked[k - 1].low_pa


def stretches_table(stretches: Sequence[Stretch], fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of stretches between stations."""
    shown = fs.shown
    rows = [
        [
            f"{s.from_station} to {s.to_station}",
            f"{shown.number(s.from_mm)} to {shown.number(s.to_mm)}",
            fs.pressure_span(s.low_pa, s.high_pa),
            KIND_WORDS[s.most],
        ]
        for s in stretches
    ]
    return ["stations", shown.units, fs.pressure_unit, "mostly"], rows


def percent_span(low: float, high: float) -> str:
    """Return a span of percent, "under 1" where it shows as nothing."""
    return "under 1" if round(high) == 0 else f"{low:.0f} to {high:.0f}"


def _last_left(head: list[str], rows: list[list[str]]) -> tuple[list[str], list[list[str]]]:
    """Return a table whose last column is words and reads from the left."""
    wide = max(len(row[-1]) for row in [head, *rows])
    return [*head[:-1], head[-1].ljust(wide)], [[*row[:-1], row[-1].ljust(wide)] for row in rows]


def _wrapped(lines: Sequence[str]) -> list[str]:
    return [
        textwrap.fill(line, COLUMNS, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
        for line in lines
    ]
