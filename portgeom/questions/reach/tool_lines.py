"""Along which straight lines does a cutter get from an opening of a port to places on its wall?

The lines to a place go through places spread over the opening, and are tried the shortest first. What
stops them is kept, so that it can be said whether the port's lip, the guide or the cutter's own size is in
the way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F32, Int
from portgeom.geometry.room import Room
from portgeom.questions.reach.lines import LEVELS, LIP, UNKNOWN, Bits, Known, Lines, WallPlaces, lines_to
from portgeom.questions.reach.openings import Opening, Rod
from portgeom.questions.reach.touch import Tool
from portgeom.questions.reach.trial import tried

AT_ONCE = 20_000
"""About how many lines are tried at once: more of them no longer fit the processor's own memory."""


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


def try_lines(room: Room, guide: Rod | None, opening: Opening, places: WallPlaces, tool: Tool) -> LinesFound:
    """Return the best line from an opening to every place on the wall.

    Notes
    -----
    The best is the shortest of those that take about as much of the metal as any, told apart by LEVELS.
    """
    n, most = places.at_mm.shape[1], opening.places_mm.shape[1]
    # an opening too narrow for the shank has no places at all
    known = Known(np.zeros(n, dtype=np.uint8), np.full(n, UNKNOWN if most else LIP))
    share, stick = np.zeros(n, dtype=np.float32), np.full(n, np.nan, dtype=np.float32)
    tip, axis = np.full((3, n), np.nan, dtype=np.float32), np.full((3, n), np.nan, dtype=np.float32)
    order = _shortest_first(opening, places)
    done = 0
    while done < most and len(left := np.flatnonzero(known.level < LEVELS)):
        # a few at first: most places are reached by them, and those then drop out
        more = min(max(1, min(done, AT_ONCE // len(left))), most - done)
        lines = lines_to(opening, places, np.repeat(left, more), order[left, done : done + more].ravel(), tool)
        lines = tried(room, guide, opening, places, lines, known, tool)
        best = lines.kept(_best(lines))
        at = best.place
        share[at], stick[at], tip[:, at], axis[:, at] = best.share, best.length, best.tip, best.axis
        known = known.learnt(lines)
        done += more
    return LinesFound(share, stick, tip, axis, np.where((share > 0.0) | (known.met == UNKNOWN), np.uint8(0), known.met))


def _shortest_first(opening: Opening, places: WallPlaces) -> Int:
    """Return which of an opening's places (n, k) the lines to every place go through, the nearest first."""
    away = opening.targets_mm(places.at_mm) - places.at_mm[:, :, None]
    return np.argsort((away**2).sum(axis=0), axis=1, kind="stable")


def _best(lines: Lines) -> Int:
    """Return which line is the best clear one to each place that has one: the first of the highest level."""
    clear = np.flatnonzero(lines.met == 0)
    place, level = lines.place[clear], lines.level[clear].astype(np.intp)
    order = np.argsort(place * (LEVELS + 1) - level, kind="stable")
    _, first = np.unique(place[order], return_index=True)
    return clear[order[first]]
