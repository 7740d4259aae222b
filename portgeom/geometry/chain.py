"""Which closed loops do loose pieces of line make, and where does one not close?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, product

import numpy as np

from portgeom.geometry.arrays import F64


@dataclass(frozen=True, slots=True)
class Chained:
    """Pieces put end to end.

    Attributes
    ----------
    loops : tuple of (n, 2) float
        Closed ones, the end point not repeated.
    strands : tuple of (n, 2) float
        Those that begin and end somewhere.
    forks : (k, 2) float
        Places where more than two ends meet, so that nobody can say which goes on as which. Where there
        is one, the pieces that meet there are in neither list.
    """

    loops: tuple[F64, ...]
    strands: tuple[F64, ...]
    forks: F64


def chain(pieces: Sequence[F64], *, gap_mm: float) -> Chained:
    """Return pieces (n, 2) put end to end wherever two ends lie within ``gap_mm`` of each other.

    Pieces may run either way; those whose own ends meet are loops at once, and pieces of no length are
    left out.
    """
    whole = [p for p in pieces if len(p) > 1 and float(np.ptp(p, axis=0).max()) > gap_mm]
    closed = [p for p in whole if _near(p[0], p[-1], gap_mm)]
    loose = [p for p in whole if not _near(p[0], p[-1], gap_mm)]
    ends = np.array([end for p in loose for end in (p[0], p[-1])]).reshape(-1, 2)
    meets = _meetings(ends, gap_mm)
    forks = [ends[k] for k, others in enumerate(meets) if len(others) > 1]
    loops = [_opened(p) for p in closed]
    strands: list[F64] = []
    forked = {k // 2 for k, others in enumerate(meets) if len(others) > 1}
    left = set(range(len(loose))) - forked
    while left:
        run, is_loop = _run(loose, meets, left)
        (loops if is_loop else strands).append(_opened(run) if is_loop else run)
    return Chained(tuple(loops), tuple(strands), np.array(forks).reshape(-1, 2))


def _near(a: F64, b: F64, gap_mm: float) -> bool:
    return bool(np.linalg.norm(a - b) <= gap_mm)


def _opened(loop: F64) -> F64:
    """Return a loop without its repeated end."""
    return loop[:-1]


def _meetings(ends: F64, gap_mm: float) -> list[list[int]]:
    """Return for every end which others, two at most, lie within the gap. End 2k begins piece k, 2k + 1 ends it."""
    cell = np.floor(ends / gap_mm)
    held: dict[tuple[float, float], list[int]] = defaultdict(list)
    for k, (i, j) in enumerate(cell.tolist()):
        held[i, j].append(k)
    around = list(product((-1.0, 0.0, 1.0), repeat=2))
    return [
        list(
            islice(  # two are a fork already, however many there are
                (
                    other
                    for di, dj in around
                    for other in held.get((i + di, j + dj), ())
                    if other != k and _near(ends[k], ends[other], gap_mm)
                ),
                2,
            )
        )
        for k, (i, j) in enumerate(cell.tolist())
    ]


def _run(loose: Sequence[F64], meets: list[list[int]], left: set[int]) -> tuple[F64, bool]:
    """Return one strand or loop and whether it closes; takes its pieces out of ``left``."""
    first = min(left)
    start, is_loop = _walk_back(first, meets, left)
    parts: list[F64] = []
    end = start
    while end // 2 in left:
        piece = end // 2
        left.remove(piece)
        points = loose[piece] if end % 2 == 0 else loose[piece][::-1]
        parts.append(points[1:] if parts else points)
        onward = meets[end ^ 1]
        if not onward:
            break
        end = onward[0]
    return np.concatenate(parts), is_loop


def _walk_back(first: int, meets: list[list[int]], left: set[int]) -> tuple[int, bool]:
    """Return the end at which to begin the strand that holds a piece, and whether it is a loop."""
    end = 2 * first
    while meets[end]:
        before = meets[end][0]
        if before // 2 not in left:
            return end, False
        end = before ^ 1
        if end == 2 * first:
            return end, True
    return end, False
