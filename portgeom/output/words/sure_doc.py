"""How sure are the figures, in words?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from portgeom.job.values import Accuracy
from portgeom.output.words.shown import Shown
from portgeom.output.words.tables import table
from portgeom.output.words.text import LEAST_TOLD_MM3
from portgeom.questions.shape.places import BenchScale
from portgeom.questions.uncertainty.interval import Spread

# a command that is asked for no draws comes through here too, and must not wait for all that draws rest on
if TYPE_CHECKING:
    from portgeom.questions.uncertainty.sure import StageSure, Sure, SureWall
    from portgeom.questions.uncertainty.ties import Tie
    from portgeom.questions.uncertainty.which import Contribution, Reading

Worded = Callable[[float], str]

LEAST_SHARE = 0.05
"""A reading that makes less of a figure's unsureness is not worth taking again."""

SAME_MM = 0.05
"""A wall that a pass changed by less is as it was."""

MANY_FOLDED = 0.02
"""Share of folded draws above which it is said what to do about them."""


def sure_text(sure: StageSure, scale: BenchScale, shown: Shown) -> str:
    """Return every figure of a stage with its interval, and what to measure again."""
    lines = [
        f"Port {sure.port}, {sure.stage}: how sure the figures are, from {count_words(sure.draws)} draws of the "
        "readings",
        table(["figure", "value", "95 percent", "std. unc.", "between"], figure_rows(sure, shown), left=1),
        '  "std. unc." is the standard uncertainty: one standard deviation of the figure over the draws.',
        *told_lines(sure, scale, shown),
    ]
    return "\n".join(lines)


def figure_rows(sure: StageSure, shown: Shown) -> list[list[str]]:
    """Return a row a figure: what it is, its value, its interval, its standard uncertainty."""
    u = shown.units
    rows = [
        _row("volume, cc", sure.volume_mm3, _volume(shown)),
        _row(f"smallest flow area, {u}2", sure.smallest_mm2, shown.area_number),
        _row(f"roof's peak over the line, {u}", sure.peak_mm, shown.number),
    ]
    for bulge in sure.bulges:
        at = shown.number(bulge.distance_mm)
        rows.append(_row(f"bulge at {at}, stands out, {u}", bulge.stands_out_mm, shown.number))
        rows.append(_row(f"bulge at {at}, cc", bulge.volume_mm3, _volume(shown)))
    rows.append(_row("metal to remove, cc", sure.removal_mm3, _volume(shown)))
    if sure.missing_mm3.spread.interval.high >= LEAST_TOLD_MM3:
        rows.append(_row("gone already that should stay, cc", sure.missing_mm3, _volume(shown)))
    rows += [_row(f"{one.name}, takes cc", one.volume_mm3, _volume(shown)) for one in sure.passes]
    rows += [_row(f"wall to {w.hazard}, {_state(w.state)}, {u}", w.wall_mm, shown.number) for w in _changed(sure)]
    return rows


def _changed(sure: StageSure) -> list[SureWall]:
    """Return the walls, without those after a pass that left them as they were."""
    from portgeom.questions.walls.plan import TARGET

    told: list[SureWall] = []
    for wall in sure.walls:
        before = [w for w in told if w.hazard == wall.hazard and w.state != TARGET]
        value = wall.wall_mm.spread.value
        if wall.state == TARGET or not before or abs(before[-1].wall_mm.spread.value - value) > SAME_MM:
            told.append(wall)
    return told


def told_lines(sure: StageSure, scale: BenchScale, shown: Shown) -> list[str]:
    """Return what goes with the figures: ties, what to measure again, what was assumed, what was left out."""
    lines = [*_below(sure), *tie_lines(sure.ties, scale, shown), *again_lines(sure)]
    if sure.passes_run:
        lines.append(
            f"  Passes: {sure.passes_run} of the draws were cut pass by pass; the others are taken from what these "
            "have in common with them."
        )
    if not all(s.spread.interval.holds(s.spread.value) for s in (sure.smallest_mm2, sure.peak_mm)):
        lines.append(
            "  An interval may lie beside its value: errors of readings make the highest place higher and the "
            "narrowest narrower than they are."
        )
    lines.append(
        '  "between" comes on top: what the port may do between stations, judged by leaving each station out in turn.'
    )
    return [*lines, *ground_lines(sure, shown)]


def ground_lines(sure: StageSure, shown: Shown) -> list[str]:
    """Return on which ground all intervals stand: how well readings were taken to be known, draws left out."""
    lines = [f"  {accuracy_line(sure.accuracy, shown)}"]
    if sure.folded:
        words = (
            f"  {count_words(sure.folded)} of {count_words(sure.draws)} draws were left out: section planes would "
            "cross inside the passage."
        )
        if sure.folded > MANY_FOLDED * sure.draws:
            words += (
                " Stations lie close together for directions known so poorly: say in [accuracy] how well pitch and yaw "
                "are really known."
            )
        lines.append(words)
    return lines


def accuracy_line(accuracy: Accuracy, shown: Shown) -> str:
    """Return how well readings are taken to be known, and who says so."""
    parts = {
        "gauge": f"a gauged size {_fine(accuracy.gauge_mm, shown)}",
        "tool_bias": f"what a tool is off by {_fine(accuracy.tool_bias_mm, shown)}",
        "trace": f"a traced outline {_fine(accuracy.trace_mm, shown)}",
        "distance": f"a distance {_fine(accuracy.distance_mm, shown)}",
        "pitch": f"a direction {accuracy.pitch_deg:g} degrees",
    }
    usual = [key for key in parts if key not in accuracy.given]
    told = "One standard deviation: " + ", ".join(parts.values()) + "."
    if not usual:
        return told
    if len(usual) == len(parts):
        return f"{told} These are usual values, since the job has no [accuracy]."
    return f"{told} Usual values, since [accuracy] does not give them: {', '.join(usual)}."


def tie_lines(ties: Sequence[Tie], scale: BenchScale, shown: Shown) -> list[str]:
    """Return the places that may as well be the narrowest."""
    if not ties:
        return []
    places = "; ".join(
        f"{shown.place(t.distance_mm, scale)}, {shown.area(t.area_mm2)}, narrower in "
        f"{100.0 * t.smaller_share:.0f} percent of the draws"
        for t in ties
    )
    return [f"  The smallest flow area does not stand clear; it may as well be at {places}."]


def again_lines(sure: StageSure) -> list[str]:
    """Return which readings to take again, for the figures a decision rests on."""
    figures = [("the volume", sure.volume_mm3), ("the smallest area", sure.smallest_mm2)]
    figures += [("the largest bulge", sure.bulges[0].stands_out_mm)] if sure.bulges else []
    if sure.removal_mm3.spread.interval.high >= LEAST_TOLD_MM3:
        figures.append(("the metal to remove", sure.removal_mm3))
    thin = min((w for w in sure.walls if w.wall_mm.most), key=lambda w: w.wall_mm.spread.value, default=None)
    if thin is not None:
        figures.append((f"the wall to {thin.hazard}, {_state(thin.state)}", thin.wall_mm))
    lines = []
    for name, figure in figures:
        told = [c for c in figure.most if c.share >= LEAST_SHARE]
        if told:
            lines.append(f"  Surest gain for {name}: {'; '.join(contribution_words(c) for c in told)}.")
    return lines


def contribution_words(contribution: Contribution) -> str:
    """Return a reading and its share in words."""
    return f"{reading_words(contribution.reading)} ({100.0 * contribution.share:.0f} percent)"


def reading_words(reading: Reading) -> str:
    """Return a reading as one would ask for it."""
    from portgeom.questions.uncertainty.which import GAUGE, TRACING

    if reading.what == GAUGE:
        return "check what the calipers are off by on a piece of known size"
    if reading.what == TRACING:
        return "check what tracing is off by on a piece of known size"
    what = {"outline": "trace", "up": "height in its plane", "across": "place across"}.get(reading.what, reading.what)
    return f"{what.replace('_', ' ')} of station {reading.station}"


def areas_words(sure: StageSure, shown: Shown) -> list[str]:
    """Return the intervals of volume and smallest area in words."""
    volume, smallest = sure.volume_mm3.spread, sure.smallest_mm2.spread
    words = (
        f"  95 percent: volume {_between(volume, shown.volume_number)} cc, smallest flow area "
        f"{_between(smallest, shown.area_number)} {shown.units}2"
    )
    return [f"{words}; it does not stand clear of other narrow places." if sure.ties else f"{words}."]


def roof_words(sure: StageSure, shown: Shown) -> list[str]:
    """Return the intervals of the roof's peak and of every bulge in words."""
    u, peak = shown.units, sure.peak_mm.spread
    lines = [f"  95 percent: peak {_between(peak, shown.number)} {u} over the line", *_below(sure)]
    lines += [
        f"    bulge {k}: stands out {_between(b.stands_out_mm.spread, shown.number)} {u}, "
        f"{_between(b.volume_mm3.spread, shown.volume_number)} cc"
        for k, b in enumerate(sure.bulges, 1)
    ]
    return lines


def removal_words(sure: StageSure, shown: Shown) -> list[str]:
    """Return the interval of the metal to remove in words."""
    return [f"  95 percent: {_between(sure.removal_mm3.spread, shown.volume_number)} cc to take off."]


def _below(sure: StageSure) -> list[str]:
    """Return why the interval of the roof's peak lies below its figure, where it does."""
    peak = sure.peak_mm.spread
    if peak.interval.high >= peak.value:
        return []
    return [
        "  The interval of the roof's peak lies below its figure: the highest of many places is read too high more "
        "often than too low."
    ]


def passes_words(sure: StageSure, shown: Shown) -> list[str]:
    """Return the interval of what each pass takes in words, but of those that surely take nothing."""
    told = [p for p in sure.passes if p.volume_mm3.spread.interval.high >= LEAST_TOLD_MM3]
    each = "; ".join(f"{p.name} {_between(p.volume_mm3.spread, shown.volume_number)} cc" for p in told)
    if not each:
        return []
    return [f"  95 percent, from {sure.passes_run} ports measured again and cut: {each}."]


def walls_words(sure: StageSure, shown: Shown) -> list[str]:
    """Return the intervals of the least walls in words."""
    each = [
        f"    {w.hazard}, {_state(w.state)}: {_between(w.wall_mm.spread, shown.number)} {shown.units}"
        for w in sure.walls
    ]
    return ["  95 percent, from the readings of the port alone:", *each] if each else []


def _between(spread: Spread, worded: Worded) -> str:
    return f"{worded(spread.interval.low)} to {worded(spread.interval.high)}"


def count_words(count: int) -> str:
    """Return a count with its thousands parted.

    Examples
    --------
    >>> count_words(2000)
    '2,000'
    """
    return f"{count:,}"


def _row(name: str, sure: Sure, worded: Worded) -> list[str]:
    spread: Spread = sure.spread
    between = worded(sure.between_sd) if math.isfinite(sure.between_sd) else "-"
    return [name, worded(spread.value), _between(spread, worded), worded(spread.sd), between]


def _volume(shown: Shown) -> Worded:
    return shown.volume_number


def _state(state: str) -> str:
    from portgeom.questions.walls.plan import TARGET

    return "as wanted" if state == TARGET else state


def _fine(length_mm: float, shown: Shown) -> str:
    """Return a small length with the digits that a standard deviation has."""
    value = length_mm if shown.units == "mm" else length_mm / 25.4
    return f"{value:.2f} {shown.units}" if shown.units == "mm" else f"{value:.4f} {shown.units}"
