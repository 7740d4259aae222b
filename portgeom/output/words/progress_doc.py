"""What does a port's progress say at the bench, and to a program?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.units import length_from_mm
from portgeom.job.values import Port
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.json_doc import Json, Numbers, cc
from portgeom.output.words.shown import Shown, oclock
from portgeom.output.words.tables import table
from portgeom.output.words.text import LEAST_TOLD_MM3, heading, target_words
from portgeom.questions.compare.between import StageCut
from portgeom.questions.compare.habit import Habit, Levelled
from portgeom.questions.compare.overcut import Overcut, Patch
from portgeom.questions.compare.progress import PlanCheck, Progress
from portgeom.questions.compare.rates import CutterRate
from portgeom.questions.shape.bulges import RoofPlace
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.shape.profile import AreaAt

MOST_TOLD = 8
"""Patches told one by one, the largest first."""


def progress_text(port: LoftedPort, stage: LoftedStage, result: Progress, shown: Shown) -> str:
    """Return how far a port is, what went too far, and how the plan came true."""
    scale = bench_scale(stage.surface)
    whole_mm3 = result.off.volume_mm3 + result.left.volume_mm3
    share = f"{100.0 * result.share_done:.0f} percent of the metal is off; "
    off = shown.volume(result.off.volume_mm3 - result.off.missing_mm3)
    told = (
        f"{share}{off} so far, {shown.volume(result.left.volume_mm3)} left to "
        if whole_mm3 >= LEAST_TOLD_MM3
        else "nothing is off and nothing is left to take off for "
    )
    lines = [f"{heading(port, stage)}: {told}{target_words(port)}"]
    if result.cuts:
        lines.append(_cuts(result.cuts, shown))
    lines += overcut_lines(result.over, port.port, scale, shown, cut=bool(result.cuts))
    for check in result.checks:
        lines += ["  " + words for words in plan_lines(check, scale, shown)]
    return "\n".join(lines)


def _cuts(cuts: Sequence[StageCut], shown: Shown) -> str:
    rows = [
        [
            c.after.stage.name,
            c.passes[-1].name if c.passes else "not said",
            shown.volume_number(c.net_mm3),
            "-" if c.minutes is None else f"{c.minutes:g}",
            "-" if c.rate_cc_per_min is None else f"{c.rate_cc_per_min:.2f}",
        ]
        for c in cuts
    ]
    return table(["stage", "measured after", "cc off", "minutes", "cc a minute"], rows, left=2)


def overcut_lines(over: Overcut, port: Port, scale: BenchScale, shown: Shown, *, cut: bool) -> list[str]:
    """Return every patch that is past the line, those cut too far apart from those cast so.

    ``cut`` says whether anything has been cut yet.
    """
    limit = fine(over.limit_mm, shown)
    lines = []
    if over.cut:
        lines.append(f"  cut too far, by more than {limit} past the line and past the casting:")
        lines += [f"    {patch_words(p, port, scale, shown)}" for p in over.cut[:MOST_TOLD]]
        lines += _more(over.cut)
    elif cut:
        lines.append(f"  nowhere cut more than {limit} past the line")
    if over.as_cast:
        lines.append(f"  already cast more than {limit} past the line:")
        lines += [f"    {patch_words(p, port, scale, shown)}" for p in over.as_cast[:MOST_TOLD]]
        lines += _more(over.as_cast)
    return lines


def _more(found: Sequence[Patch]) -> list[str]:
    rest = len(found) - MOST_TOLD
    return [f"    and {rest} smaller"] if rest > 0 else []


def patch_words(patch: Patch, port: Port, scale: BenchScale, shown: Shown) -> str:
    """Return a patch in words: how deep, how large, where."""
    return (
        f"{fine(patch.deepest_mm, shown)} at most, {fine(patch.mean_mm, shown)} on the mean, over "
        f"{shown.area(patch.area_mm2)} ({shown.number(patch.to_mm - patch.from_mm)} along by "
        f"{shown.length(patch.around_mm)} round), {patch.volume_mm3 / 1000.0:.2f} cc; its middle at "
        f"{shown.place(patch.distance_mm, scale)}, {oclock(patch.clock_deg, port)}"
        f"{'' if patch.clear else '; that may be the readings'}"
    )


def fine(length_mm: float, shown: Shown) -> str:
    """Return a depth to a hundredth of a mm or a thousandth of an inch, as far as depths are told apart."""
    value = length_from_mm(length_mm, shown.units)
    return f"{value:.2f} mm" if shown.units == "mm" else f"{value:.3f} in"


def plan_lines(check: PlanCheck, scale: BenchScale, shown: Shown) -> list[str]:
    """Return the plan against what was measured after it."""
    passes = ", ".join(f"{r.plan.name} {shown.volume_number(r.volume_mm3)}" for r in check.passes)
    off = check.area_off
    more = "larger" if off.percent > 0.0 else "smaller"
    planned, measured = (_area_at(place, shown) for place in (check.planned_smallest, check.measured_smallest))
    peaks = [_peak(place, shown) for place in (check.planned_peak, check.measured_peak)]
    return [
        f"{check.stage}, against the plan made for the casting: planned {shown.volume(check.planned_mm3)} "
        f"({passes}), measured {shown.volume(check.measured_mm3)}",
        f"  smallest flow area planned {planned}, measured {measured}; furthest from the plan at "
        f"{shown.place(off.distance_mm, scale)}: {abs(off.percent):.1f} percent {more}",
        f"  roof at its highest planned {peaks[0]}; measured {peaks[1]}",
    ]


def _area_at(place: AreaAt, shown: Shown) -> str:
    return f"{shown.area(place.area_mm2)} at {shown.length(place.distance_mm)}"


def _peak(peak: RoofPlace, shown: Shown) -> str:
    return f"{shown.proud(peak.proud_mm)}, at {shown.length(peak.distance_mm)}"


def habit_lines(habit: Habit | None, levellings: Sequence[Levelled], shown: Shown) -> list[str]:
    """Return how this person's levelling ends, and the correction for the next port."""
    if habit is None or not levellings:
        return []
    ways = "deeper" if habit.further_mm > 0.0 else "short of that"
    low, high = (abs(habit.further_mm) + way * habit.half_width_mm for way in (-1.0, 1.0))
    lines = [
        f"Levelling ends {fine(habit.overshoot_mm, shown)} below the groove bottoms, where the plan has "
        f"{fine(habit.planned_mm, shown)}: {fine(abs(habit.further_mm), shown)} {ways} "
        f"(95 percent interval {_number(low, shown)} to {fine(high, shown)}, from {habit.stations} stations)."
    ]
    if not habit.clear:
        return [*lines, "That may be chance: no correction yet. Measure more stations after levelling."]
    last = levellings[-1]
    leave = last.leave_mm + habit.further_mm
    if leave < 0.0:
        return [*lines, f'For the next port groove deeper: even leave = 0 in the pass "{last.grooves}" is too much.']
    lines.append(
        f'For the next port set leave = {_number(leave, shown)} in the pass "{last.grooves}" (now '
        f"{_number(last.leave_mm, shown)}), so that levelling ends where planned."
    )
    return lines


def _number(length_mm: float, shown: Shown) -> str:
    return fine(length_mm, shown).split(" ")[0]


def rate_lines(rates: Sequence[CutterRate]) -> list[str]:
    """Return the rates learnt from stages that state their minutes."""
    if not rates:
        return []
    lines = ["Rates learnt from stages that state their minutes:"]
    for rate in rates:
        names = " and ".join(f'"{c}"' for c in rate.cutters)
        words = f"  {names}: {rate.cc_per_min:.2f} cc a minute, {rate.volume_mm3 / 1000.0:.1f} cc in {rate.minutes:g}"
        if len(rate.cutters) > 1:
            words += ", not to be told apart: measure between them"
        lines.append(words)
    alone = [r for r in rates if len(r.cutters) == 1]
    if alone:
        lines.append(f"Write rate_cc_per_min = {alone[0].cc_per_min:.2f} in its [[cutter]] to plan with it.")
    return lines


def progress_json(result: Progress, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``progress``, without port and stage."""
    return {
        "off_cc": cc(result.off.volume_mm3),
        "left_cc": cc(result.left.volume_mm3),
        "share_done": round(result.share_done, 4),
        "stages": [_cut_json(c) for c in result.cuts],
        "overcut": overcut_json(result.over, n),
        "plan": [_check_json(c, n) for c in result.checks],
        "levelled": [_levelled_json(s, n) for s in result.levellings],
    }


def _cut_json(cut: StageCut) -> Json:
    rate = cut.rate_cc_per_min
    return {
        "from": cut.before.stage.name,
        "to": cut.after.stage.name,
        "passes": [p.name for p in cut.passes],
        "off_cc": cc(cut.metal.volume_mm3),
        "reads_smaller_cc": cc(cut.metal.missing_mm3),
        "net_cc": cc(cut.net_mm3),
        "minutes": cut.minutes,
        "cc_per_min": None if rate is None else round(rate, 4),
    }


def overcut_json(over: Overcut, n: Numbers) -> Json:
    """Return the patches past the line."""
    return {
        "limit": n.length(over.limit_mm),
        "volume_cc": cc(over.cut_mm3),
        "cut": [_patch_json(p, n) for p in over.cut],
        "as_cast": [_patch_json(p, n) for p in over.as_cast],
    }


def _patch_json(patch: Patch, n: Numbers) -> Json:
    return {
        "distance": n.length(patch.distance_mm),
        "clock": round(patch.clock_deg, 1),
        "deepest": {
            "depth": n.length(patch.deepest_mm),
            "distance": n.length(patch.deepest_at_mm),
            "clock": round(patch.deepest_clock_deg, 1),
        },
        "mean_depth": n.length(patch.mean_mm),
        "standard": n.length(patch.standard_mm),
        "clear": patch.clear,
        "from": n.length(patch.from_mm),
        "to": n.length(patch.to_mm),
        "around": n.length(patch.around_mm),
        "area": n.area(patch.area_mm2),
        "volume_cc": cc(patch.volume_mm3),
    }


def _check_json(check: PlanCheck, n: Numbers) -> Json:
    planned, measured = check.planned_smallest, check.measured_smallest
    return {
        "stage": check.stage,
        "passes": [{"name": r.plan.name, "planned_cc": cc(r.volume_mm3)} for r in check.passes],
        "planned_cc": cc(check.planned_mm3),
        "measured_cc": cc(check.measured_mm3),
        "smallest": {
            "planned": {"distance": n.length(planned.distance_mm), "area": n.area(planned.area_mm2)},
            "measured": {"distance": n.length(measured.distance_mm), "area": n.area(measured.area_mm2)},
        },
        "roof_peak": {"planned": _peak_json(check.planned_peak, n), "measured": _peak_json(check.measured_peak, n)},
        "area_off": {"distance": n.length(check.area_off.distance_mm), "percent": round(check.area_off.percent, 3)},
    }


def _peak_json(peak: RoofPlace, n: Numbers) -> Json:
    return {
        "distance": n.length(peak.distance_mm),
        "across": n.length(peak.across_mm),
        "proud": n.length(peak.proud_mm),
    }


def _levelled_json(seen: Levelled, n: Numbers) -> Json:
    return {
        "stage": seen.stage,
        "pass": seen.name,
        "grooves": seen.grooves,
        "stations": [
            {"distance": n.length(float(s)), "overshoot": n.length(float(o)), "planned": n.length(float(p))}
            for s, o, p in zip(seen.distance_mm, seen.overshoot_mm, seen.planned_mm, strict=True)
        ],
    }


def habit_json(habit: Habit | None, levellings: Sequence[Levelled], n: Numbers) -> Json:
    """Return the levelling habit over all ports, or nothing."""
    if habit is None or not levellings:
        return None
    last = levellings[-1]
    return {
        "overshoot": n.length(habit.overshoot_mm),
        "planned": n.length(habit.planned_mm),
        "further": n.length(habit.further_mm),
        "standard": n.length(habit.standard_mm),
        "interval": [
            n.length(habit.further_mm - habit.half_width_mm),
            n.length(habit.further_mm + habit.half_width_mm),
        ],
        "stations": habit.stations,
        "clear": habit.clear,
        "next_leave": {"pass": last.grooves, "leave": n.length(max(0.0, last.leave_mm + habit.further_mm))}
        if habit.clear
        else None,
    }


def rates_json(rates: Sequence[CutterRate]) -> Json:
    """Return the rates of cutters over all ports."""
    return [
        {
            "cutters": list(r.cutters),
            "cc_per_min": round(r.cc_per_min, 4),
            "volume_cc": cc(r.volume_mm3),
            "minutes": round(r.minutes, 3),
            "stages": r.stages,
        }
        for r in rates
    ]
