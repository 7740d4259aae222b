"""What does each question's answer read like at the bench?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from portgeom.output.words.shown import Shown, oclock, percent
from portgeom.output.words.tables import table
from portgeom.output.words.valve_doc import exhaust_lines
from portgeom.questions.shape.places import BenchScale, bench_scale

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.questions.shape.bulges import Bulge
    from portgeom.questions.shape.profile import Profile
    from portgeom.questions.shape.removal import Removal
    from portgeom.questions.shape.roof import Roof
    from portgeom.questions.shape.taper import Dip, Taper

LEAST_TOLD_MM3 = 50.0
"""A volume below this rounds to nothing."""


def heading(port: LoftedPort, stage: LoftedStage) -> str:
    """Return the line that names a port and its stage."""
    return f"Port {port.port.name}, {stage.stage.name}"


def profile_text(port: LoftedPort, stage: LoftedStage, result: Profile, shown: Shown) -> str:
    """Return the area along the path and what is rough about it."""
    scale = bench_scale(stage.surface)
    rows = [
        [
            s.station,
            s.place,
            shown.number(s.distance_mm),
            shown.area_number(s.area_mm2),
            shown.area_number(s.flow_area_mm2),
            shown.number(s.width_mm),
            shown.number(s.height_mm),
            shown.number(s.hydraulic_diameter_mm),
        ]
        for s in result.stations
    ]
    units = shown.units
    head = ["station", "place", f"at {units}", f"area {units}2", "flow area", "width", "height", "hyd. dia."]
    smallest = result.smallest
    return "\n".join(
        [
            f"{heading(port, stage)}: {shown.length(result.length_mm)} along the path, "
            f"{shown.volume(result.volume_mm3)}",
            table(head, rows, left=2),
            f"Smallest flow area {shown.area(smallest.area_mm2)} at {shown.place(smallest.distance_mm, scale)}.",
            *taper_lines(result.taper, scale, shown),
            *([] if result.exhaust is None else exhaust_lines(result.exhaust, shown)),
        ]
    )


def taper_lines(taper: Taper, scale: BenchScale, shown: Shown) -> list[str]:
    """Return in words how the area is held against its line, and every neck, belly and steep growth."""
    against = {
        "straight": "one straight line",
        "schedule": "the schedule",
        "places": "straight lines between the named places",
    }[taper.against]
    above, below = taper.worst_above, taper.worst_below
    ends = [f"{shown.area(taper.entry_area_mm2)} at the face", f"{shown.area(taper.seat_area_mm2)} at the throat"]
    first, last = reversed(ends) if taper.exhaust else ends
    lines = [f"From {first} to {last}, held against {against}:"]
    if above.percent > 0.05:
        lines.append(f"  furthest above it {percent(above.percent)} at {shown.place(above.distance_mm, scale)}")
    if below.percent < -0.05:
        lines.append(f"  furthest below it {percent(-below.percent)} at {shown.place(below.distance_mm, scale)}")
    lines += [f"  neck: {dip_words(n, scale, shown)}" for n in taper.necks]
    lines += [f"  belly: {dip_words(b, scale, shown)}" for b in taper.bellies]
    lines.append(f"  {growth_words(taper, scale, shown)}")
    if taper.narrows_percent > 0.0:
        lines.append(f"  it narrows on its way out: {narrows_words(taper)}")
    lines.append("Taper: smooth." if taper.smooth else "Taper: not smooth.")
    return lines


def dip_words(dip: Dip, scale: BenchScale, shown: Shown) -> str:
    """Return a neck or belly in words."""
    words = f"{percent(dip.percent)}, {shown.area(dip.area_mm2)} at {shown.place(dip.distance_mm, scale)}"
    if dip.planned:
        return f"{words}, as planned"
    if dip.between_stations:
        return f"{words}, seen only between stations: measure one there"
    return words


def narrows_words(taper: Taper) -> str:
    """Return in words how an exhaust narrows from throat to face."""
    return f"the face has {percent(taper.narrows_percent)} less area than the throat, and should have more"


def growth_words(taper: Taper, scale: BenchScale, shown: Shown) -> str:
    """Return the steepest growth in words."""
    angle, at = taper.steepest.cone_angle_deg, taper.steepest.distance_mm
    if angle <= 0.0:
        return "the area grows nowhere in the direction of flow"
    return (
        f"steepest growth like a cone of {angle:.1f} degrees (mean over 10 mm) at {shown.place(at, scale)}; "
        "the angle alone does not promise attached flow, least of all in a bend"
    )


def roof_text(port: LoftedPort, stage: LoftedStage, result: Roof, shown: Shown) -> str:
    """Return where the roof stands above the line and what hangs from it."""
    scale = bench_scale(stage.surface)
    source = (
        "the job's line"
        if result.line_from == "job"
        else "a straightedge laid along it (a guess: the job gives no roof line)"
    )
    lines = [
        f"{heading(port, stage)}: roof held against {source}, up to {shown.place(result.end_mm, scale)}, "
        f"where {result.end_reason}.",
        f"  peak: {shown.proud(result.peak.proud_mm)}, at {shown.place(result.peak.distance_mm, scale)}, "
        f"{shown.across(result.peak.across_mm)}",
    ]
    if result.lowest.proud_mm < 0.0:
        lowest = result.lowest
        lines.append(
            f"  lowest: {shown.proud(lowest.proud_mm)}, at {shown.place(lowest.distance_mm, scale)}, "
            f"{shown.across(lowest.across_mm)}"
        )
    lines += [f"  bulge {k}: {bulge_words(b, scale, shown)}" for k, b in enumerate(result.bulges, 1)]
    if not result.bulges:
        lines.append("  nothing hangs from the roof by more than the limit")
    for start, end in result.line_wanted:
        lines.append(
            f"  from {shown.length(start)} to {shown.length(end)} the roof hangs for longer than the straightedge: "
            "give a roof_line in the target, the guess is poor there"
        )
    return "\n".join(lines)


def bulge_words(bulge: Bulge, scale: BenchScale, shown: Shown) -> str:
    """Return a bulge in words."""
    words = (
        f"stands out {shown.length(bulge.stands_out_mm)} from the roof around it, highest at "
        f"{shown.place(bulge.peak.distance_mm, scale)}, {shown.across(bulge.peak.across_mm)}; "
        f"from {shown.number(bulge.from_mm)} to {shown.length(bulge.to_mm)} along the path, "
        f"{shown.length(bulge.across_to_mm - bulge.across_from_mm)} across, "
        f"{shown.area(bulge.area_mm2)}, {shown.volume(bulge.volume_mm3)}; "
        f"at its peak {shown.proud(bulge.peak.proud_mm)}"
    )
    if bulge.stations_seen == 0:
        words += "; no station was measured on it: measure one there"
    elif bulge.thinly_measured:
        words += f"; seen at {bulge.stations_seen} stations only: closer stations would tell more than better calipers"
    return words


def removal_text(
    port: LoftedPort, stage: LoftedStage, result: Removal, shown: Shown, *, material: str, target: str
) -> str:
    """Return how much metal comes off, where, and what is left then."""
    scale = bench_scale(stage.surface)
    named = f"{heading(port, stage)} to {target}"
    if result.volume_mm3 < LEAST_TOLD_MM3:
        lines = [f"{named}: nothing to take off"]
    else:
        lines = [
            f"{named}: {shown.volume(result.volume_mm3)} to take off, {result.mass_g:.0f} g of {material}",
            *_where_it_came_off(port, result, scale, shown),
        ]
    if result.missing_mm3 >= LEAST_TOLD_MM3:
        lines.append(
            f"  {shown.volume(result.missing_mm3)} of what should stay is already gone; it is not set against the rest"
        )
    small = result.smallest_after
    lines.append(
        f"  then: {shown.volume(result.volume_after_mm3)}, smallest flow area {shown.area(small.area_mm2)} at "
        f"{shown.place(small.distance_mm, scale)}"
    )
    return "\n".join(lines)


def _where_it_came_off(port: LoftedPort, result: Removal, scale: BenchScale, shown: Shown) -> list[str]:
    """Return metal by side, where it is deepest, and by zone."""
    side = result.by_side
    lines = [
        f"  roof {shown.volume(side.roof)}, floor {shown.volume(side.floor)}, "
        f"{port.port.left_wall} {shown.volume(side.left)}, {port.port.right_wall} {shown.volume(side.right)}"
    ]
    if result.deepest is not None:
        deep = result.deepest
        lines.append(
            f"  deepest {shown.length(deep.depth_mm)} at {shown.place(deep.distance_mm, scale)}, "
            f"{oclock(deep.clock_deg, port.port)}"
        )
    zones = [z for z in result.by_zone if z.volume_mm3 >= LEAST_TOLD_MM3]
    if zones:
        lines.append(
            table(
                [f"from {shown.units}", f"to {shown.units}", "cc"],
                [[shown.number(z.from_mm), shown.number(z.to_mm), shown.volume_number(z.volume_mm3)] for z in zones],
                left=0,
            )
        )
    return lines


def between_text(
    port: LoftedPort, before: LoftedStage, after: LoftedStage, result: Removal, shown: Shown, *, material: str
) -> str:
    """Return how much metal came off between two stages, and where."""
    scale = bench_scale(after.surface)
    lines = [
        f"{heading(port, before)} to {after.stage.name}: {shown.volume(result.volume_mm3)} taken off, "
        f"{result.mass_g:.0f} g of {material}",
        *_where_it_came_off(port, result, scale, shown),
    ]
    if result.missing_mm3 >= LEAST_TOLD_MM3:
        lines.append(
            f"  the later stage reads smaller by {shown.volume(result.missing_mm3)} elsewhere: no metal grows, so that "
            "is the error of the readings"
        )
    small = result.smallest_after
    lines.append(
        f"  then: {shown.volume(float(after.surface.volume_mm3.sum()))}, smallest flow area "
        f"{shown.area(small.area_mm2)} at {shown.place(small.distance_mm, scale)}"
    )
    return "\n".join(lines)


def target_words(port: LoftedPort) -> str:
    """Return how a port's target is named in a sentence."""
    return f'target "{port.port.target}"' if port.port.target else "the bridged roof, a guess"


def paragraphs(parts: Sequence[str]) -> str:
    """Return texts parted by blank lines."""
    return "\n\n".join(parts)
