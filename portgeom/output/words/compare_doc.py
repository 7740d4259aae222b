"""What does a comparison of ports say at the bench?"""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

from portgeom.job.values import Port
from portgeom.output.words.poured_doc import poured_lines
from portgeom.output.words.shown import Shown
from portgeom.output.words.tables import table
from portgeom.questions.compare.compare import Comparison
from portgeom.questions.compare.match import Match, NoMatch
from portgeom.questions.compare.members import Member
from portgeom.questions.compare.odd_one import FEWEST, STANDS_OUT, OffTheOthers
from portgeom.questions.compare.pairs import DifferenceZone, Pair
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.uncertainty.interval import Difference, Interval

MOST_PAIRS = 6
"""Pairs told one by one; of more, those that differ most, and those of the odd one out."""

UNSURE = "how sure that is is not known"

LEAST_MM3 = 50.0
"""A volume below this rounds to nothing."""


def compare_text(result: Comparison, shown: Shown) -> str:
    """Return everything about a comparison, part after part."""
    parts = [f"{_title(result)}\n{figures_table(result, shown)}"]
    parts += [pair_text(result, p, shown) for p in told_pairs(result)]
    parts.append("\n".join(odd_lines(result, shown)))
    parts.append("\n".join(match_lines(result, shown)))
    parts.append("\n".join(line for m in result.members for line in poured_lines(called(result, m), m.poured, shown)))
    parts.append(sureness(result))
    return "\n\n".join(p for p in parts if p)


def _title(result: Comparison) -> str:
    jobs = list(dict.fromkeys(m.job.title for m in result.members))
    return f"{' and '.join(jobs)}: {len(result.members)} compared"


def figures_table(result: Comparison, shown: Shown) -> str:
    """Return the table of every member's figures."""
    head, rows = figures_rows(result, shown)
    return table(head, rows, left=head.index("cc"))


def figures_rows(result: Comparison, shown: Shown) -> tuple[list[str], list[list[str]]]:
    """Return headings and rows of every member's figures; the odd one out is marked."""
    u = shown.units
    staged = any(m.name != m.port.port.name for m in result.members)
    odd = None if result.odd is None else result.odd.member
    head = [
        "port",
        *([] if staged else ["stage"]),
        "cc",
        "95 percent",
        f"smallest, {u}2",
        "95 percent",
        f"at, {u}",
        f"entry, {u}2",
    ]
    head += [f"throat, {u}2", f"roof over line, {u}", *([] if odd is None else [""])]
    rows = []
    for k, m in enumerate(result.members):
        volume, small = m.volume.interval, m.smallest.interval
        rows.append(
            [
                m.name,
                *([] if staged else [m.stage.stage.name]),
                shown.volume_number(m.volume.value),
                _between(volume, shown.volume_number),
                shown.area_number(m.smallest.value),
                _between(small, shown.area_number),
                shown.number(m.smallest_at.distance_mm),
                shown.area_number(m.entry_mm2),
                shown.area_number(m.throat_mm2),
                shown.number(m.peak.proud_mm),
                *([] if odd is None else ["the odd one out" if k == odd else ""]),
            ]
        )
    return head, rows


def _between(interval: Interval, number: Callable[[float], str]) -> str:
    return f"{number(interval.low)} to {number(interval.high)}" if isfinite(interval.low) else "not known"


def told_pairs(result: Comparison) -> tuple[Pair, ...]:
    """Return the pairs worth telling one by one: all of a few, else those of the odd one, else the least alike."""
    if len(result.pairs) <= MOST_PAIRS:
        return result.pairs
    odd = -1 if result.odd is None else result.odd.member
    ranked = sorted(result.pairs, key=lambda p: (odd not in (p.first, p.second), -p.areas.rms_percent))
    return tuple(ranked[:MOST_PAIRS])


def pair_text(result: Comparison, pair: Pair, shown: Shown) -> str:
    """Return how two of them differ, in words."""
    first, *rest = pair_lines(result, pair, shown)
    return "\n".join([first[:1].upper() + first[1:], *rest])


def pair_lines(result: Comparison, pair: Pair, shown: Shown) -> list[str]:
    """Return how two of them differ: volume, areas, where they lie furthest apart, and the zone."""
    a, b = result.members[pair.first], result.members[pair.second]
    scale = bench_scale(a.stage.surface)
    lines = [f"{called(result, a)} against {called(result, b)}: {_volume_words(pair.volume, shown)}"]
    for words, found in (("smallest area", pair.smallest), ("entry", pair.entry), ("throat", pair.throat)):
        lines.append(f"  {words}: {area_words(found, shown)}")
    if f"{abs(pair.worst_percent):.1f}" == "0.0":
        lines.append("  areas along the path are the same")
    else:
        lines.append(
            f"  areas along the path {pair.areas.rms_percent:.1f} percent apart on the mean, most at "
            f"{shown.place(pair.worst_at_mm, scale)}: {abs(pair.worst_percent):.1f} percent "
            f"{'larger' if pair.worst_percent > 0.0 else 'smaller'}"
        )
    if pair.zone is not None:
        lines.append(f"  {zone_words(pair.zone, scale, shown)}")
    if pair.unlike_lengths:
        lines.append(
            f"  their paths are {shown.length(a.length_mm)} and {shown.length(b.length_mm)} long: the same distance "
            "is not the same place in both"
        )
    return lines


def zone_words(zone: DifferenceZone, scale: BenchScale, shown: Shown) -> str:
    """Return the zone that holds most of a difference."""
    more = "more" if zone.volume_mm3 > 0.0 else "less"
    return (
        f"{100.0 * zone.share:.0f} percent of the difference lies from {shown.number(zone.from_mm)} to "
        f"{shown.length(zone.to_mm)} ({shown.number(scale.square_at(zone.from_mm))} to "
        f"{shown.number(scale.square_at(zone.to_mm))} square from the face): "
        f"{abs(zone.volume_mm3) / 1000.0:.2f} cc {more} there"
    )


def called(result: Comparison, member: Member) -> str:
    """Return how a member is called in a sentence."""
    return member.name if len(result.campaigns) > 1 else f"port {member.name}"


def _volume_words(found: Difference, shown: Shown) -> str:
    told = _signed(shown.volume(abs(found.value)), found.value, "more", "less", "as much")
    if not isfinite(found.sd):
        return f"holds {told}; {UNSURE}"
    ends = [_signed(shown.volume(abs(x)), x, "more", "less") for x in (found.interval.low, found.interval.high)]
    return f"holds {told} (95 percent: {ends[0]} to {ends[1]}); {verdict(found)}"


def area_words(found: Difference, shown: Shown) -> str:
    told = _signed(shown.area(abs(found.value)), found.value, "larger", "smaller", "as large")
    if not isfinite(found.sd):
        return f"{told}; {UNSURE}"
    ends = [_signed(shown.area(abs(x)), x, "larger", "smaller") for x in (found.interval.low, found.interval.high)]
    return f"{told} (95 percent: {ends[0]} to {ends[1]}); {verdict(found)}"


def _signed(size: str, value: float, more: str, less: str, same: str = "") -> str:
    """Return a size with its direction; of one that is told as 0, what is the same, or the bare size."""
    if not float(size.split()[0].replace(",", "")):
        return same or size
    return f"{size} {more if value > 0.0 else less}"


def verdict(found: Difference) -> str:
    """Return whether a difference is one."""
    return "a real difference" if found.significant else "may be the readings"


def odd_lines(result: Comparison, shown: Shown) -> list[str]:
    """Return the odd one out, or that none stands out."""
    if len(result.members) < FEWEST or not result.siblings:
        return []
    if result.odd is None:
        if not result.off:
            return ["Whether one stands out is not known: no draw of the readings makes a port of all of them."]
        return [f"None stands out: no figure of any lies more than {STANDS_OUT:g} times the scatter off the others."]
    name = called(result, result.members[result.odd.member])
    return [f"The odd one out is {name}: " + "; ".join(_off_words(o, shown) for o in result.odd.by) + "."]


def _off_words(off: OffTheOthers, shown: Shown) -> str:
    size = shown.volume(abs(off.distance)) if off.figure == "volume" else shown.area(abs(off.distance))
    more = "above" if off.distance > 0.0 else "below"
    if off.at_mm is not None:
        return (
            f"at {shown.length(off.at_mm)} its area is {size} {more} the median of the others, "
            f"{abs(off.times):.1f} times the scatter"
        )
    return f"its {off.figure} is {size} {more} the median of the others, {abs(off.times):.1f} times the scatter"


def match_lines(result: Comparison, shown: Shown) -> list[str]:
    """Return what would come off each so that all match: by side, and by zone where it is worth telling."""
    if not result.matches:
        return []
    within = shown.length(next((m.within_mm for m in result.matches if isinstance(m, Match)), 0.0))
    lines = [
        f"To make them match within {within}, each cut to where the furthest of them is (mirrored where they are):"
    ]
    for member, match in zip(result.members, result.matches, strict=True):
        if isinstance(match, NoMatch):
            lines.append(f"  {called(result, member)}: cannot be laid over {match.other}: {match.why}")
        else:
            lines += _match_lines(called(result, member), member.port.port, match, shown)
    return lines


def _match_lines(name: str, port: Port, match: Match, shown: Shown) -> list[str]:
    metal = match.metal
    if metal.volume_mm3 < 0.1 * LEAST_MM3:
        return [f"  {name}: nothing to take off"]
    side = metal.by_side
    lines = [
        f"  {name}: {hundredths_cc(metal.volume_mm3)} cc; roof {hundredths_cc(side.roof)}, floor "
        f"{hundredths_cc(side.floor)}, {port.left_wall} {hundredths_cc(side.left)}, {port.right_wall} "
        f"{hundredths_cc(side.right)}"
    ]
    zones = [z for z in metal.by_zone if z.volume_mm3 >= 0.05 * metal.volume_mm3]
    told = ", ".join(
        f"{shown.number(z.from_mm)} to {shown.number(z.to_mm)}: {z.volume_mm3 / 1000.0:.2f}" for z in zones
    )
    lines.append(f"    by zone along the path, {shown.units} and cc: {told}")
    return lines


def match_rows(result: Comparison, shown: Shown) -> list[list[str]]:
    """Return the rows of a table of what would come off each."""
    rows = []
    for member, match in zip(result.members, result.matches, strict=True):
        if isinstance(match, Match):
            side = match.metal.by_side
            volumes = (match.metal.volume_mm3, side.roof, side.floor, side.left, side.right)
            largest = max(match.metal.by_zone, key=lambda z: z.volume_mm3)
            where = f"{shown.number(largest.from_mm)} to {shown.number(largest.to_mm)}"
            rows.append([member.name, where, *(hundredths_cc(v) for v in volumes)])
    return rows


def hundredths_cc(volume_mm3: float) -> str:
    """Return a volume in cc; nothing has no sign.

    Examples
    --------
    >>> hundredths_cc(-1.2), hundredths_cc(2345.6)
    ('0.00', '2.35')
    """
    return f"{round(volume_mm3 / 1000.0, 2) + 0.0:.2f}"


def sureness(result: Comparison) -> str:
    """Return where the intervals come from, and how many draws were left out."""
    draws = result.campaigns[0].draws if result.campaigns else 0
    words = (
        f"Intervals hold 95 percent of {draws} draws of the readings with their errors (JCGM 101); what two ports "
        "share, as the bias of one caliper, cancels in their difference."
    )
    words += " What a port does between its stations is not in them."
    if len(result.campaigns) > 1:
        words += " Between jobs nothing is taken to be shared."
    if result.folded:
        ports = sum(len(c.ports) for c in result.campaigns)
        words += (
            f" Of {ports * draws} draws, {draws} for each port, {result.folded} were left out, whose planes crossed."
        )
    return words
