"""How do the lines a plane cuts become closed loops, and where were gaps closed?

Lines that end are joined to the nearest other end, the shortest gap first. A long gap is closed by a cubic that
leaves both ends in their own direction, as the wall there would go on; a short one straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.capture.slicing.cut import Line
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments, polygon_perimeter_mm

STRAIGHT_SHARE = 0.01
"""Gaps below this share of the loop are closed straight: on a circle the chord is then within 0.05 percent of r."""

NEIGHBOURS = 8
STEEPEST_COS = 0.25
"""An end that points further than 75 degrees off the gap says nothing of how the wall goes on across it."""

BRIDGE_POINTS = 16

HEADING_POINTS = 6
"""The heading at an end is that of a parabola through so many points at least."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A place where a loop was closed: its middle (2,), how wide it is, and how far the bridge bows from straight."""

    middle_mm: F64
    width_mm: float
    bow_mm: float


@dataclass(frozen=True, slots=True)
class Loop:
    """One closed loop in a plane.

    Attributes
    ----------
    points_mm : (n, 2) float
        Anticlockwise, the first not repeated.
    area_mm2 : float
    centroid_mm : (2,) float
    length_mm : float
    gaps : tuple of Gap
    outward_share : float
        Share of its length along which the triangles face out of the loop.
    """

    points_mm: F64
    area_mm2: float
    centroid_mm: F64
    length_mm: float
    gaps: tuple[Gap, ...]
    outward_share: float

    @property
    def gap_mm(self) -> float:
        """Return how much of the loop was closed."""
        return sum(g.width_mm for g in self.gaps)


def loops_of(lines: Sequence[Line]) -> list[Loop]:
    """Return every loop, the largest first; lines with ends are joined whatever the gap."""
    loops = [_loop(line.points_mm, [line], (0.0,), ()) for line in lines if line.closed]
    loose = [line for line in lines if not line.closed and len(line.points_mm) > 1]
    if loose:
        loops += [_bridged(chain) for chain in _chains(loose)]
    return sorted((loop for loop in loops if loop is not None), key=lambda loop: -loop.area_mm2)


def _loop(points: F64, lines: Sequence[Line], turned: Sequence[float], gaps: tuple[Gap, ...]) -> Loop | None:
    """Return a loop; ``turned`` is 1 for lines that were walked backwards."""
    if len(points) < 3:
        return None
    moments = polygon_moments(points)
    area = float(moments.area_mm2)
    if area == 0.0:
        return None
    length = np.array([line.length_mm for line in lines])
    right = np.array([abs(t - line.outward_share) for t, line in zip(turned, lines, strict=True)])
    share = float(length @ right) / max(float(length.sum()), np.finfo(np.float64).tiny)
    if area < 0.0:
        points, share = points[::-1], 1.0 - share
    return Loop(
        points_mm=points,
        area_mm2=abs(area),
        centroid_mm=moments.first_mm3 / area,
        length_mm=float(polygon_perimeter_mm(points)),
        gaps=gaps,
        outward_share=share,
    )


def _chains(lines: list[Line]) -> list[list[tuple[Line, bool]]]:
    """Return lines put end to end: each with whether it is walked backwards.

    End 2 i is the start of line i and end 2 i + 1 its last point.
    """
    ends = np.array([p for line in lines for p in (line.points_mm[0], line.points_mm[-1])])
    length = np.array([line.length_mm for line in lines])
    partner = np.full(len(ends), -1)
    group = np.arange(len(lines))
    members = {k: [k] for k in range(len(lines))}
    for a, b, gap in _by_gap(ends):
        if partner[a] >= 0 or partner[b] >= 0:
            continue
        one, other = int(group[a // 2]), int(group[b // 2])
        if one == other and float(length[members[one]].sum()) < 2.0 * gap:
            continue  # a scrap inside a gap is part of the bridge, not a loop of its own
        partner[a], partner[b] = b, a
        if one != other:
            group[members[other]] = one
            members[one] += members.pop(other)
    chains, left = [], [True] * len(lines)
    firsts = [k for k in range(len(lines)) if partner[2 * k] < 0] + list(range(len(lines)))
    firsts = [k for k in range(len(lines)) if partner[2 * k + 1] < 0 <= partner[2 * k]] + firsts
    for first in firsts:
        if not left[first]:
            continue
        chain, at = [], 2 * first if partner[2 * first] < 0 or partner[2 * first + 1] >= 0 else 2 * first + 1
        while at >= 0 and left[at // 2]:
            left[at // 2] = False
            chain.append((lines[at // 2], at % 2 == 1))
            at = int(partner[at ^ 1])
        chains.append(chain)
    return chains


def _by_gap(ends: F64) -> list[tuple[int, int, float]]:
    """Return pairs of near ends, the nearest first."""
    if len(ends) <= 64:
        apart = np.hypot(*(ends[:, None, :] - ends[None, :, :]).transpose(2, 0, 1))
        a, b = np.triu_indices(len(ends), 1)
        gap = apart[a, b]
    else:
        from scipy.spatial import cKDTree

        gaps, near = cKDTree(ends).query(ends, k=NEIGHBOURS + 1)
        a, b = np.repeat(np.arange(len(ends)), NEIGHBOURS + 1), near.ravel()
        gap = gaps.ravel()
        once = a < b
        a, b, gap = a[once], b[once], gap[once]
    order = np.argsort(gap, kind="stable")
    return list(zip(a[order].tolist(), b[order].tolist(), gap[order].tolist(), strict=True))


def _bridged(chain: list[tuple[Line, bool]]) -> Loop | None:
    """Return the loop of lines in order, with what is missing between them bridged."""
    pieces = [line.points_mm[::-1] if backward else line.points_mm for line, backward in chain]
    total = sum(line.length_mm for line, _ in chain)
    total += sum(float(np.linalg.norm(b[0] - a[-1])) for a, b in zip(pieces, pieces[1:] + pieces[:1], strict=True))
    points, gaps = [], []
    for before, after in zip(pieces, pieces[1:] + pieces[:1], strict=True):
        points.append(before)
        width = float(np.linalg.norm(after[0] - before[-1]))
        if width == 0.0:
            points[-1] = before[:-1]
            continue
        bridge, bow = _bridge(before, after, width, straight=width < STRAIGHT_SHARE * total)
        points.append(bridge)
        gaps.append(Gap(0.5 * (before[-1] + after[0]), width, bow))
    lines, turned = zip(*chain, strict=True)
    return _loop(np.concatenate(points), lines, [float(t) for t in turned], tuple(gaps))


def _bridge(before: F64, after: F64, width: float, *, straight: bool) -> tuple[F64, float]:
    """Return points (k, 2) strictly between two ends, and how far they bow from the chord."""
    none = np.empty((0, 2))
    if straight:
        return none, 0.0
    chord = (after[0] - before[-1]) / width
    leave, arrive = _heading(before[::-1], width), _heading(after, width)
    if leave is None or arrive is None:
        return none, 0.0
    leave = -leave
    if leave @ chord < STEEPEST_COS or arrive @ chord < STEEPEST_COS:
        return none, 0.0
    turn = float(np.arccos(np.clip(leave @ arrive, -1.0, 1.0)))
    reach = width * (0.5 * turn / np.sin(0.5 * turn) if turn > 0.0 else 1.0)
    t = np.linspace(0.0, 1.0, BRIDGE_POINTS + 2)[1:-1, None]
    rise = after[0] - before[-1]
    bend, skew = 3.0 * rise - reach * (2.0 * leave + arrive), reach * (leave + arrive) - 2.0 * rise
    points = before[-1] + t * (reach * leave + t * (bend + t * skew))
    off = points - before[-1]
    return points, float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max())


def _heading(line: F64, width: float) -> F64 | None:
    """Return the direction (2,) of a line at its first point, from about as much of it as the gap is wide."""
    step = np.hypot(*np.diff(line, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(step)])
    reach = max(width, float(run[min(HEADING_POINTS, len(run)) - 1]))
    near = run <= reach
    if near.sum() < 3 or reach == 0.0:
        return None
    order = 2 if near.sum() >= HEADING_POINTS else 1
    slope = np.polynomial.polynomial.polyfit(run[near] / reach, line[near], order)[1]
    size = float(np.hypot(*slope))
    return slope / size if size > 0.0 else None
