"""What does a person want to know first of a port? Four answers in plain words."""

from __future__ import annotations

from dataclasses import dataclass

from portgeom.job.values import Hazard, Job
from portgeom.output.shown import Shown, oclock, percent
from portgeom.questions.after import taper_after
from portgeom.questions.places import BenchScale, bench_scale
from portgeom.questions.removal import Zone
from portgeom.questions.taper import Dip, Taper
from portgeom.questions.whole import Answers

WORTH_MM3 = 50.0
"""Volumes under this print as nothing and are not told apart."""

MOST_NECKS = 3
"""Necks told on the first screen, the largest first; the tables hold all."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: the question, the figure in a few words, and the rest of it."""

    question: str
    figure: str
    words: tuple[str, ...]


def first_answers(job: Job, answer: Answers, shown: Shown) -> tuple[Answer, ...]:
    """Return the answers a report opens with, for one stage of a port."""
    scale = bench_scale(answer.stage.surface)
    return (
        _roof(answer, scale, shown),
        _metal(job, answer, scale, shown),
        _taper(job, answer, scale, shown),
        _first(job, answer, scale, shown),
    )


def _roof(answer: Answers, scale: BenchScale, shown: Shown) -> Answer:
    result = answer.roof
    peak = result.peak
    words = [f"At {shown.place(peak.distance_mm, scale)}, {shown.across(peak.across_mm)}."]
    if result.bulges:
        bulge = result.bulges[0]
        count = len(result.bulges)
        each = "One bulge hangs" if count == 1 else f"{count} bulges hang, the largest"
        words.append(
            f"{each} {shown.length(bulge.stands_out_mm)} out of the roof around it, from "
            f"{shown.number(bulge.from_mm)} to {shown.length(bulge.to_mm)} along the path and "
            f"{shown.length(bulge.across_to_mm - bulge.across_from_mm)} across."
        )
    else:
        words.append("Nothing hangs out of the roof around it by more than the limit: no bulge.")
    if result.line_from == "bridge":
        words.append("The line is a guess, made by bridging: the job gives no roof line.")
    if shown.number(result.lowest.proud_mm).startswith("-"):
        low = result.lowest
        words.append(f"At {shown.place(low.distance_mm, scale)} it is {shown.proud(low.proud_mm)}.")
    return Answer("Where does the roof hang?", shown.proud(peak.proud_mm), tuple(words))


def _metal(job: Job, answer: Answers, scale: BenchScale, shown: Shown) -> Answer:
    result, port = answer.removal, answer.port.port
    question = "How much metal comes off?"
    gone = (
        [f"{shown.volume(result.missing_mm3)} of what should stay is already gone; it is not set against the rest."]
        if result.missing_mm3 >= WORTH_MM3
        else []
    )
    if result.volume_mm3 < WORTH_MM3:
        return Answer(question, "nothing", ("The port is at what is wanted, or past it.", *gone))
    side = result.by_side
    sides = (
        ("roof", side.roof),
        (port.left_wall, side.left),
        (port.right_wall, side.right),
        ("floor", side.floor),
    )
    listed = ", ".join(f"{name} {shown.volume(v)}" for name, v in sides)
    words = [f"By side: {listed}."]
    if result.deepest is not None:
        deep = result.deepest
        words.append(
            f"Deepest {shown.length(deep.depth_mm)}, at {shown.place(deep.distance_mm, scale)}, "
            f"{oclock(deep.clock_deg, port)}."
        )
    words.append(
        f"The passage then holds {shown.volume(result.volume_after_mm3)}, "
        f"{shown.volume(answer.profile.volume_mm3)} now."
    )
    figure = f"{shown.volume(result.volume_mm3)}, {result.mass_g:.0f} g of {job.material}"
    return Answer(question, figure, (*words, *gone))


def _taper(job: Job, answer: Answers, scale: BenchScale, shown: Shown) -> Answer:
    now = answer.profile.taper
    words = rough_words(job, now, scale, shown)
    smallest = answer.profile.smallest
    words.append(f"Smallest flow area {shown.area(smallest.area_mm2)}, at {shown.place(smallest.distance_mm, scale)}.")
    if answer.removal.volume_mm3 >= WORTH_MM3:
        then = taper_after(answer.port, answer.stage, answer.removal, job.limits)
        after = answer.removal.smallest_after
        words.append(
            f"Once the metal is off: {_verdict(then)}, smallest flow area {shown.area(after.area_mm2)} at "
            f"{shown.length(after.distance_mm)}."
        )
        words += rough_words(job, then, scale, shown)
    return Answer("Does the area taper smoothly?", _verdict(now), tuple(words))


def _verdict(taper: Taper) -> str:
    return "smooth" if taper.smooth else "not smooth"


def rough_words(job: Job, taper: Taper, scale: BenchScale, shown: Shown) -> list[str]:
    """Return in words why a taper is not smooth: its largest necks, how many more, and steep growth."""
    necks = sorted((n for n in taper.necks if _counts(n, job.limits.neck_percent)), key=lambda n: -n.percent)
    words = [f"Neck of {percent(n.percent)} at {shown.place(n.distance_mm, scale)}." for n in necks[:MOST_NECKS]]
    more = len(necks) - MOST_NECKS
    if more > 0:
        words.append(f"{more} more neck{'' if more == 1 else 's'} over {job.limits.neck_percent:g} percent.")
    if taper.steepest.cone_angle_deg > job.limits.cone_angle_deg:
        words.append(
            f"It grows like a cone of {taper.steepest.cone_angle_deg:.1f} degrees at "
            f"{shown.place(taper.steepest.distance_mm, scale)}; the limit is {job.limits.cone_angle_deg:g}."
        )
    return words


def _counts(neck: Dip, limit_percent: float) -> bool:
    return not neck.planned and neck.at_stations_percent > limit_percent


def _first(job: Job, answer: Answers, scale: BenchScale, shown: Shown) -> Answer:
    question = "What to do first?"
    result, metal = answer.roof, answer.removal
    behind = _behind(job, answer)
    if result.line_wanted:
        start, end = result.line_wanted[0]
        return Answer(
            question,
            "give a roof line",
            (
                f"From {shown.length(start)} to {shown.length(end)} the roof hangs for longer than the straightedge "
                "spans, so the guess is poor there. Put a roof_line in the target and make this page again.",
                *behind,
            ),
        )
    if metal.volume_mm3 < WORTH_MM3:
        return Answer(
            question, "measure again", ("Nothing is left to cut: check the sizes, pour the port, record it.",)
        )
    if result.bulges:
        bulge = result.bulges[0]
        figure = f"level bulge 1, from {shown.number(bulge.from_mm)} to {shown.length(bulge.to_mm)}"
        mark = (
            f"Mark its peak at {shown.place(bulge.peak.distance_mm, scale)}, {shown.across(bulge.peak.across_mm)}, "
            f"and gauge it. At the peak it is {shown.proud(bulge.peak.proud_mm)}."
        )
        return Answer(question, figure, (mark, *behind))
    zone: Zone = max(metal.by_zone, key=lambda z: z.volume_mm3)
    figure = f"start between {shown.number(zone.from_mm)} and {shown.length(zone.to_mm)}"
    return Answer(question, figure, (f"Most of the metal is there: {shown.volume(zone.volume_mm3)}.", *behind))


def _behind(job: Job, answer: Answers) -> list[str]:
    """Return what the job says lies behind the walls of a port, which the page does not measure."""
    here = [h.name for h in job.hazards if _concerns(h, answer)]
    if not here:
        return ["The job names nothing behind the walls. That is not the same as nothing being there: find out."]
    return [f"Behind the walls the job names {', '.join(here)}. This page does not say how much metal is left there."]


def _concerns(hazard: Hazard, answer: Answers) -> bool:
    return not hazard.ports or answer.port.port.name in hazard.ports
