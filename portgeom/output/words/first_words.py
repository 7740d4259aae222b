"""What does a person want to know first of a port? Five answers in plain words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.job.values import Job
from portgeom.output.report.cutting import pass_words
from portgeom.output.words.shown import Shown, oclock, percent
from portgeom.output.words.text import narrows_words
from portgeom.output.words.valve_doc import exhaust_words
from portgeom.output.words.walls_doc import wall_words
from portgeom.questions.after import taper_after
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.shape.taper import Dip, Taper
from portgeom.questions.valve_job.exhaust import exhaust
from portgeom.questions.walls.walls import Wall
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

WORTH_MM3 = 50.0
"""Volumes under this print as nothing and are not told apart."""

MOST_NECKS = 3
"""Necks told on the first screen, the largest first; the tables hold all."""

MOST_WALLS = 2
"""Walls told on the first screen besides the one that matters most."""

NOTHING_NAMED = (
    "The job names nothing behind this port's walls. That is not the same as nothing being there: find out, and add a "
    "[[hazard]] for every hole, pocket and water space near it."
)


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: the question, the figure in a few words, and the rest of it."""

    question: str
    figure: str
    words: tuple[str, ...]


def first_answers(job: Job, answer: Answers, cutting: Cutting, shown: Shown) -> tuple[Answer, ...]:
    """Return the answers a report opens with, for one stage of a port."""
    scale = bench_scale(answer.stage.surface)
    return (
        _roof(answer, scale, shown),
        _metal(job, answer, scale, shown),
        _taper(job, answer, scale, shown),
        _walls(answer, cutting, shown),
        _first(answer, cutting, scale, shown),
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
    if answer.profile.exhaust is not None:
        words += [f"{line}." for line in exhaust_words(answer.profile.exhaust, shown)]
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
        if then.exhaust:
            words += [f"Then: {line}." for line in _exhaust_then(job, answer, then, shown)]
    return Answer("Does the area taper smoothly?", _verdict(now), tuple(words))


def _exhaust_then(job: Job, answer: Answers, then: Taper, shown: Shown) -> list[str]:
    """Return how an exhaust stands to common practice once the metal is off."""
    valve = next((v for v in job.valves if v.kind == "exhaust"), None)
    cast, after = answer.port.cast.surface, answer.removal.after
    return exhaust_words(exhaust(then, valve, cast=cast, now=after, to_mm=answer.port.throat_mm), shown)


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
    if taper.narrows_percent > job.limits.neck_percent:
        words.append(f"An exhaust that narrows on its way out: {narrows_words(taper)}.")
    return words


def _counts(neck: Dip, limit_percent: float) -> bool:
    return not neck.planned and neck.at_stations_percent > limit_percent


def _walls(answer: Answers, cutting: Cutting, shown: Shown) -> Answer:
    """Return the wall to look after most once all is done: one that is not enough, else the thinnest."""
    question = "How thin do the walls get?"
    if not cutting.hazards:
        return Answer(question, "not known", (NOTHING_NAMED,))
    port, done = answer.port.port, cutting.finished
    scale = bench_scale(done.surface)
    pairs = sorted(zip(cutting.now.walls, done.walls, strict=True), key=lambda p: _concern(p[1]))
    now, first = pairs[0]
    words = [wall_words(first, now, port, scale, shown)]
    if now.least is not None and first.least is not None and now.least.wall_mm != first.least.wall_mm:
        words.append(f"As it is now: {_left_words(now, shown)}.")
    others = [(n, w) for n, w in pairs[1:] if w.alarms or w.least is None or w.unknown]
    words += [wall_words(w, n, port, scale, shown) for n, w in others[:MOST_WALLS]]
    if len(others) > MOST_WALLS:
        more = len(others) - MOST_WALLS
        words.append(f"{more} more wall{' is' if more == 1 else 's are'} not enough or not known.")
    return Answer(question, f"{_left_words(first, shown)} to {first.hazard}: {_judged(first)}", tuple(words))


def _concern(wall: Wall) -> tuple[bool, bool, float]:
    """Return by what walls are sorted: those not enough first, those not known next, then from thin to thick."""
    return not wall.alarms, wall.least is not None, np.inf if wall.least is None else wall.least.wall_mm


def _left_words(wall: Wall, shown: Shown) -> str:
    if wall.least is None:
        return "nothing known"
    return "open" if wall.least.wall_mm <= 0.0 else f"{shown.length(wall.least.wall_mm)} left"


def _judged(wall: Wall) -> str:
    if wall.verdict == "open":
        return "may be opened" if wall.behind.hazard.open_allowed else "not allowed"
    if wall.verdict == "not known":
        return "read the wall there" if wall.least is None or wall.unknown else "no limit given"
    return wall.verdict


def _first(answer: Answers, cutting: Cutting, scale: BenchScale, shown: Shown) -> Answer:
    """Return what the plan begins with, and what has to be settled before."""
    question = "What to do first?"
    result = answer.roof
    if result.line_wanted:
        start, end = result.line_wanted[0]
        return Answer(
            question,
            "give a roof line",
            (
                f"From {shown.length(start)} to {shown.length(end)} the roof hangs for longer than the straightedge "
                "spans, so the guess is poor there. Put a roof_line in the target and make this page again.",
            ),
        )
    works = [r for r in cutting.results if r.volume_mm3 >= WORTH_MM3]
    if answer.removal.volume_mm3 < WORTH_MM3 or not works:
        left = answer.removal.volume_mm3 >= WORTH_MM3
        said = (
            "No pass of the job takes anything off here, though metal stands over the line: plan one that does."
            if left
            else "Nothing is left to cut: check the sizes, pour the port, record it."
        )
        return Answer(question, "plan a pass" if left else "measure again", (said,))
    words = [_before(cutting)] if _before(cutting) else []
    if result.bulges:
        peak = result.bulges[0].peak
        words.append(
            f"Mark the peak of bulge 1 at {shown.place(peak.distance_mm, scale)}, {shown.across(peak.across_mm)}, and "
            f"gauge it: it is {shown.proud(peak.proud_mm)}."
        )
    first = works[0]
    words.append(f"{_capital(first.plan.name)}: {pass_words(first, scale, shown)}")
    if len(works) > 1:
        words.append(f"Then {works[1].plan.name}, and so on as listed under Cutting.")
    bad = _too_thin(cutting)
    figure = (
        f"settle the wall to {bad[0]}" if bad else f"{first.plan.name}: {first.plan.side}, {first.plan.cutter.name}"
    )
    return Answer(question, figure, tuple(words))


def _too_thin(cutting: Cutting) -> list[str]:
    """Return the walls that are, or get, too thin or open without the job's leave, by name."""
    return [w.hazard for w in cutting.finished.walls if w.alarms]


def _before(cutting: Cutting) -> str:
    """Return what to settle before any metal comes off; nothing where all is settled."""
    if not cutting.hazards:
        return "Before any metal comes off, find out what lies behind the walls."
    bad = _too_thin(cutting)
    if bad:
        return (
            f"Before any metal comes off, settle the wall to {', '.join(bad)}: wanted as it is, it gets too thin. "
            "Lower the line there, or say respect_walls = true and the passes stop in time."
        )
    unread = [w.hazard for w in cutting.finished.walls if w.least is None or w.unknown]
    return f"Before any metal comes off, read the wall to {', '.join(unread)}." if unread else ""


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
