"""What does a job say of the valve, its limits and how well its readings are known?"""

from __future__ import annotations

from math import cos, radians

from portgeom.job.keys import Entry
from portgeom.job.ports import port_kind
from portgeom.job.values import Accuracy, Limits, Valve
from portgeom.job.valve_job import read_guide, read_seat, read_valve_limits


def read_valve(entry: Entry) -> Valve | None:
    """Return a valve, or None after taking down what is wrong with it."""
    head, throat = entry.number("head_diameter"), entry.number("throat_diameter")
    stem = entry.number("stem_diameter")
    if head is not None and throat is not None and throat >= head:
        entry.spot("throat_diameter").fault("is no smaller than the valve's head", "check both diameters")
    if stem is not None and throat is not None and stem >= throat:
        entry.spot("stem_diameter").fault("is no smaller than the throat", "check both diameters")
    for larger in entry.numbers("larger_heads"):
        if head is not None and larger <= head:
            entry.spot("larger_heads").fault("has one no larger than the valve's head", "give larger diameters only")
    seat, guide, limits = read_seat(entry), read_guide(entry), read_valve_limits(entry)
    if not entry.complete:
        return None
    angle, width, across = entry.sure("seat_angle"), entry.sure("seat_width"), entry.sure("head_diameter")
    radial = width * cos(radians(angle)) if entry.text("seat_width_along") == "slope" else width
    if 2.0 * radial >= across:
        entry.spot("seat_width").fault("leaves nothing of the valve's head", "check the width and the diameter")
        return None
    return Valve(
        kind=port_kind(entry),
        head_diameter_mm=entry.sure("head_diameter"),
        throat_diameter_mm=entry.sure("throat_diameter"),
        stem_diameter_mm=entry.sure("stem_diameter"),
        seat_angle_deg=angle,
        seat_width_mm=radial,
        lifts_mm=tuple(sorted(set(entry.numbers("lifts")))),
        larger_heads_mm=tuple(sorted(set(entry.numbers("larger_heads")))),
        head_back_cc=entry.number("head_back_cc"),
        back_angle_deg=entry.number("back_angle"),
        seat=seat,
        guide=guide,
        limits=limits,
    )


def read_limits(entry: Entry | None) -> Limits:
    """Return the limits; the usual ones where the job does not set them."""
    usual = Limits()
    if entry is None:
        return usual
    return Limits(
        neck_percent=_given(entry, "neck_percent", usual.neck_percent),
        cone_angle_deg=_given(entry, "cone_angle", usual.cone_angle_deg),
        bulge_mm=_given(entry, "bulge", usual.bulge_mm),
        straightedge_mm=_given(entry, "straightedge", usual.straightedge_mm),
        overcut_mm=_given(entry, "overcut", usual.overcut_mm),
    )


def read_accuracy(entry: Entry | None) -> Accuracy:
    """Return the standard deviations of readings; the usual ones where the job does not state them."""
    usual = Accuracy()
    if entry is None:
        return usual
    keys = ("gauge", "tool_bias", "trace", "distance", "pitch", "pour_cc")
    return Accuracy(
        gauge_mm=_given(entry, "gauge", usual.gauge_mm),
        tool_bias_mm=_given(entry, "tool_bias", usual.tool_bias_mm),
        trace_mm=_given(entry, "trace", usual.trace_mm),
        distance_mm=_given(entry, "distance", usual.distance_mm),
        pitch_deg=_given(entry, "pitch", usual.pitch_deg),
        pour_cc=_given(entry, "pour_cc", usual.pour_cc),
        given=tuple(key for key in keys if entry.number(key) is not None),
    )


def _given(entry: Entry, key: str, usual: float) -> float:
    number = entry.number(key)
    return usual if number is None else number
