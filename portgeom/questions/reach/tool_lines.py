"""Along which straight lines does a cutter get from an opening of a port to places on its wall?

The lines to a place go through places spread over the opening, and are tried the shortest first. What
stops them is kept, so that it can be said whether the port's lip, the guide or the cutter's own size is in
the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F32, Int
from portgeom.geometry.room import Room
from portgeom.questions.reach.lines import LEVELS, LIP, UNKNOWN, Bits, Known, Lines, WallPlaces, Way, kit_of, lines_to
from portgeom.questions.reach.openings import Opening, Rod
from portgeom.questions.reach.trial import tried

ROUNDED_PER_MM = np.float32(100.0)
"""Lines whose lengths differ by less than a hundredth of a millimetre are as good as equally long."""

AT_ONCE = 80_000
"""About how many lines are tried at once: fewer, and calling takes longer than looking."""


@dataclass(frozen=True, slots=True)
class LinesFound:
    """For every place (n,) the best of its lines.

    Attributes
    ----------
    share : (n,) float32
        Of the metal there that the head takes: 0 where no line is clear, under 1 where the head does not
        go all the way into a corner.
    stick_out_mm : (n,) float32
        From the cutter's tip back to the plane of the opening, along the line; NaN where none is clear.
    tip_mm, axis : (3, n) float32
        Where the tip then is, and the way from it to the holder: the proof. NaN where none is clear.
    met : (n,) uint8
        Where no line is clear, the first of LIP, GUIDE and HEAD that alone stops one of them; else 0.
    """

    share: F32
    stick_out_mm: F32
    tip_mm: F32
    axis: F32
    met: Bits


def try_lines(room: Room, guide: Rod | None, ways: Sequence[Way], places: WallPlaces) -> list[LinesFound]:
    """Return for every way in the best line to every place on the wall.

    Notes
    -----
    The best is the shortest of those that take about as much of the metal as any, told apart by LEVELS.
    """
    if not ways:
        return []
    n, kit = places.at_mm.shape[1], kit_of(ways)
    most = np.repeat([w.opening.places_mm.shape[1] for w in ways], n)
    # an opening too narrow for the shank has no places at all
    known = Known(np.zeros(len(most), dtype=np.uint8), np.where(most > 0, UNKNOWN, LIP))
    share, stick = np.zeros(len(most), dtype=np.float32), np.full(len(most), np.nan, dtype=np.float32)
    tip, axis = np.full((3, len(most)), np.nan, dtype=np.float32), np.full((3, len(most)), np.nan, dtype=np.float32)
    order = _shortest_first([w.opening for w in ways], places)
    done = 0
    while len(left := np.flatnonzero((known.level < LEVELS) & (most > done))):
        # a few at first: most places are reached by them, and those then drop out
        more = min(max(1, min(done, AT_ONCE // len(left))), order.shape[1] - done)
        aim, through = np.repeat(left, more), order[left, done : done + more].ravel()
        there = np.flatnonzero(through >= 0)
        lines = lines_to(kit, places, aim.take(there), through.take(there).astype(np.intp))
        lines = tried(room, guide, kit, places, lines, known)
        best = lines.kept(_best(lines))
        at = best.aim
        share[at], stick[at], tip[:, at], axis[:, at] = best.share, best.length, best.tip, best.axis
        known = known.learnt(lines)
        done += more
    met = np.where((share > 0.0) | (known.met == UNKNOWN), np.uint8(0), known.met)
    by_way = [slice(n * k, n * (k + 1)) for k in range(len(ways))]
    return [LinesFound(share[w], stick[w], tip[:, w], axis[:, w], met[w]) for w in by_way]


def _shortest_first(openings: Sequence[Opening], places: WallPlaces) -> npt.NDArray[np.int16]:
    """Return which of its opening's places the lines to every aim (n, k) go through, the nearest first; -1 for none."""
    n, most = places.at_mm.shape[1], max(o.places_mm.shape[1] for o in openings)
    order = np.full((len(openings), n, most), -1, dtype=np.int16)
    for k, opening in enumerate(openings):
        same = next((j for j in range(k) if openings[j] is opening), None)
        if same is not None:
            order[k] = order[same]
            continue
        # whole numbers sort several times as fast
        rounded = np.minimum(opening.away_mm(places.at_mm) * ROUNDED_PER_MM, np.float32(65535.0)).astype(np.uint16)
        order[k, :, : rounded.shape[1]] = np.argsort(rounded, axis=1, kind="stable")
    return order.reshape(len(openings) * n, most)


def _best(lines: Lines) -> Int:
    """Return which line is the best clear one to each aim that has one: the first of the highest level."""
    clear = np.flatnonzero(lines.met == 0)
    aim, level = lines.aim[clear], lines.level[clear].astype(np.intp)
    order = np.argsort(aim * (LEVELS + 1) - level, kind="stable")
    _, first = np.unique(aim[order], return_index=True)
    return clear[order[first]]
