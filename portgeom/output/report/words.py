"""What does a report say was assumed, and how were its figures made?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.moments import polygon_moments
from portgeom.job.faults import line as note_line
from portgeom.job.values import Job
from portgeom.output.words.shown import Shown, percent
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting


def assumed(job: Job, answers: Sequence[Answers], cuttings: Sequence[Cutting], shown: Shown) -> list[str]:
    """Return what the figures rest on besides the readings, one thing a line, and what the job could say more."""
    limits = job.limits
    lines = [_target(a) for a in answers]
    lines += [
        f"Port {a.port.port.name}: its roof is judged up to {shown.length(a.roof.end_mm)} along the path: "
        f"{a.roof.end_reason}."
        for a in answers
    ]
    lines += [
        f"Port {a.port.port.name}: {a.stage.stage.poured_cc:g} cc were poured in, the sections give "
        f"{shown.volume(a.profile.volume_mm3)} between first and last station."
        for a in answers
        if a.stage.stage.poured_cc is not None
    ]
    lines += [
        f"Limits: necks over {limits.neck_percent:g} percent and growth over a cone of {limits.cone_angle_deg:g} "
        f"degrees (mean over 10 mm) make a taper rough; what stands out over {shown.length(limits.bulge_mm)} is a "
        f"bulge; the bridging straightedge is {shown.length(limits.straightedge_mm)} long.",
        f"Metal: {job.material}{'' if 'g/cc' in job.material else f', {job.density_g_cc:g} g/cc'}.",
    ]
    lines += [_resolution(a) for a in answers]
    lines += _cutting(job, cuttings)
    lines += [f"Noted while reading the job: {note_line(note)}" for note in job.notes]
    return lines


def _cutting(job: Job, cuttings: Sequence[Cutting]) -> list[str]:
    """Return what the plan rests on, and what is missing from the job for more to be told."""
    lines = []
    if any(c.results and not c.results[0].plan.said for c in cuttings):
        lines.append(
            "The job gives no passes, so the usual plan is followed, with depths and rests by common practice: add a "
            "[[pass]] for each that you mean to cut."
        )
    if not job.cutters:
        lines.append(
            "The job names no cutter, so nothing is said of what cutters reach"
            + (", and the passes assume one" if any(c.results for c in cuttings) else "")
            + ": add a [[cutter]] with name, shape, diameter, length, shank and reach."
        )
    if any(not c.hazards for c in cuttings):
        lines.append("Where the job names nothing behind a port's walls, no wall is judged: add a [[hazard]] for each.")
    if any(c.hazards for c in cuttings):
        lines.append(
            "Walls are judged once all is done: "
            + ("after the last pass, which stops in time." if job.respect_walls else "with the port as wanted.")
        )
    return lines


def _target(answer: Answers) -> str:
    name = answer.port.port.name
    if answer.roof.line_from == "job" and answer.port.port.target:
        return f'Port {name} is held against the target "{answer.port.port.target}" of the job.'
    named = f' The target "{answer.port.port.target}" gives no roof line.' if answer.port.port.target else ""
    return (
        f"Port {name}: the job gives no roof line, so the roof is held against a guess: a straightedge laid along "
        f"it from roof to roof bridges what hangs out.{named}"
    )


def _resolution(answer: Answers) -> str:
    surface, chart = answer.stage.surface, answer.port.chart
    longest = float(np.diff(chart.distance_mm).max())
    return (
        f"Port {answer.port.port.name}: cut into {len(chart.distance_mm)} slabs at most {longest:.2f} mm long, "
        f"{chart.rays.total} rays round each. The polygon through the rays is within "
        f"{_area_error_percent(answer):.2f} percent of every measured outline's area; areas at stations are the "
        f"outlines' own, and the difference is carried along between them, so that volumes hold it too."
        + (_hidden(surface.hidden_mm2[answer.stage.slab]))
    )


def _area_error_percent(answer: Answers) -> float:
    """Return how far the polygons through the rays miss the outlines' areas at most, rounded up to 0.01."""
    slab = answer.stage.slab
    drawn = polygon_moments(answer.stage.surface.points_mm[slab]).area_mm2
    own = np.array([row.outline.area_mm2 for row in answer.stage.stage.sections.rows])
    return float(np.ceil(1e4 * np.abs(drawn / own - 1.0).max()) / 100.0)


def _hidden(hidden_mm2: np.ndarray[tuple[int], np.dtype[np.float64]]) -> str:
    most = float(np.nan_to_num(hidden_mm2).max(initial=0.0))
    return f" Up to {most:.1f} mm2 of a section lie behind its own wall and count as metal." if most >= 0.05 else ""


def accuracy_words(job: Job, shown: Shown) -> str:
    """Return how well the readings are known, as the job says."""
    a = job.accuracy
    return (
        "The job takes its readings to be good to (one standard deviation): gauge "
        f"{a.gauge_mm:g} mm, tool {a.tool_bias_mm:g} mm shared by all its readings, traced outline {a.trace_mm:g} mm, "
        f"distance {a.distance_mm:g} mm, pitch {a.pitch_deg:g} degrees, pouring {a.pour_cc:g} cc. No figure here is "
        f"better than the readings it is made of: {percent(200.0 * a.gauge_mm / 40.0)} of a 40 mm wide section's area "
        "goes with one gauge error on both its width and its height."
    )


METHOD: tuple[str, ...] = (
    "Every section stands in its plane across the path. Between sections the walls are drawn by curves that "
    "never swing past the readings at either end.",
    "Areas at stations are those of the outlines themselves. Flow area is the area square to the line through "
    "the middles of the sections; taper, necks and bellies are judged on it.",
    "Height over the line is measured in each section plane, along its own up direction: above the line is metal "
    "to take off, past the line is metal already gone.",
    "Metal to take off is the wanted section joined with the present one, less the present one, slab by slab, "
    "with the turning of the planes counted. Metal that is already missing is told apart and never set against it.",
    "A place is told three ways: along the path, square from the manifold face to the middle of the roof, and "
    "along the middle of the roof. O'clock positions are looking in from the face, roof at 12.",
    "A neck is where the flow area falls and rises again, a belly where it rises and falls; its size is how far it "
    "goes under (or over) the nearer shoulder, in percent of that shoulder.",
)
