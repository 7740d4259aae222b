"""How does a part lie on its bolts or dowels: best, and how far may it shift and turn within their play?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen

TURNS = 61
"""Turns tried from one end of the play to the other."""

DIRECTIONS = 72
"""Directions tried at every turn: between two of them a shift falls short by at most 0.1 percent of the play."""

HALVINGS = 50

HAIR_MM = 1e-9
"""A hole that misses its pin by less lies on it."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A part laid on the face: turned about (0, 0), anticlockwise looking in, then shifted."""

    turn_rad: float
    shift_mm: F64

    def of(self, points_mm: F64) -> F64:
        """Return points (n, 2) of the part where they come to lie."""
        c, s = math.cos(self.turn_rad), math.sin(self.turn_rad)
        return points_mm @ np.array([[c, s], [-s, c]]) + self.shift_mm


@dataclass(frozen=True, slots=True)
class Fit:
    """How a part lies on its pins.

    Attributes
    ----------
    best : Motion
        By least squares over the pairs of hole and pin.
    off_mm : (n,) float
        How far each hole's middle then is from its pin's.
    play_mm : (n,) float
        How far each may be off: half of what the hole is larger than the pin.
    goes_on : bool
        Whether any place lets every pin through.
    within : tuple of Motion
        Places at the ends of the play; none where there is no play, or the part does not go on.
    """

    best: Motion
    off_mm: F64
    play_mm: F64
    goes_on: bool
    within: tuple[Motion, ...]


def lay_on(holes_mm: F64, pins_mm: F64, play_mm: F64) -> Fit:
    """Return how holes (n, 2) of a part lie on pins (n, 2), n at least 2, with radial play (n,) at each.

    Notes
    -----
    At one turn the places that let every pin through are where discs round the pins overlap; at its ends one of
    them is touched from within, or two cross. Turns are taken from the least to the most that leave any overlap.

    References
    ----------
    The best turn is that of the plane orthogonal Procrustes problem: the argument of the sum of products of the
    one set with the conjugate of the other, both about their means (Horn 1987 gives the same in space).
    """
    best = best_motion(holes_mm, pins_mm)
    off = np.linalg.norm(best.of(holes_mm) - pins_mm, axis=1)
    middle = holes_mm.mean(axis=0)
    # where the set of places is a single one, discs that just touch must still count as overlapping
    play = play_mm + HAIR_MM
    first = best.turn_rad if len(_ends(best.turn_rad, holes_mm - middle, pins_mm, play)) else None
    if first is None:
        first = _some_turn(holes_mm - middle, pins_mm, play, best.turn_rad)
    if first is None:
        return Fit(best, frozen(off), frozen(play_mm), False, ())
    if not float(play_mm.max()) > 0.0:
        return Fit(best, frozen(off), frozen(play_mm), True, ())
    reach = _most_turn(holes_mm, play_mm) + abs(first - best.turn_rad)
    low, high = (_last_turn(first, first + way * reach, holes_mm - middle, pins_mm, play) for way in (-1.0, 1.0))
    within: list[Motion] = []
    for turn in np.linspace(low, high, TURNS).tolist():
        # shifts are found for holes about their middle
        back = Motion(turn, np.zeros(2)).of(middle)
        within += [Motion(turn, frozen(place - back)) for place in _ends(turn, holes_mm - middle, pins_mm, play)]
    return Fit(best, frozen(off), frozen(play_mm), True, tuple(within))


def best_motion(holes_mm: F64, pins_mm: F64) -> Motion:
    """Return the motion that brings holes nearest to pins by least squares.

    Examples
    --------
    >>> holes = np.array([[0.0, 0.0], [2.0, 0.0]])
    >>> found = best_motion(holes, np.array([[1.0, 1.0], [1.0, 3.0]]))
    >>> round(math.degrees(found.turn_rad)), found.of(holes).round(9).tolist()
    (90, [[1.0, 1.0], [1.0, 3.0]])
    """
    hole, pin = holes_mm - holes_mm.mean(axis=0), pins_mm - pins_mm.mean(axis=0)
    turn = math.atan2(float((hole[:, 0] * pin[:, 1] - hole[:, 1] * pin[:, 0]).sum()), float((hole * pin).sum()))
    turned = Motion(turn, np.zeros(2)).of(holes_mm)
    return Motion(turn, frozen((pins_mm - turned).mean(axis=0)))


def _most_turn(holes_mm: F64, play_mm: F64) -> float:
    """Return a turn that no play allows: twice the most play over the least lever between two holes."""
    away = np.linalg.norm(holes_mm[:, None] - holes_mm[None], axis=-1)
    lever = float(away[away > 0.0].max())
    return min(math.pi, 4.0 * float(play_mm.max()) / lever + 1e-9)


def _ends(turn: float, holes_mm: F64, pins_mm: F64, play_mm: F64) -> F64:
    """Return shifts (k, 2) at the ends of what lets every pin through at one turn; none where nothing does."""
    discs = pins_mm - Motion(turn, np.zeros(2)).of(holes_mm)
    angle = np.linspace(0.0, 2.0 * np.pi, DIRECTIONS, endpoint=False)
    rims = discs[:, None] + play_mm[:, None, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    places = np.concatenate([rims.reshape(-1, 2), _crossings(discs, play_mm)])
    away = np.linalg.norm(places[:, None] - discs[None], axis=-1)
    return places[(away <= play_mm + HAIR_MM).all(axis=1)]


def _crossings(centres: F64, radii: F64) -> F64:
    """Return where circles cross, (k, 2)."""
    i, j = np.triu_indices(len(centres), 1)
    run = centres[j] - centres[i]
    apart = np.linalg.norm(run, axis=1)
    some = apart > 0.0
    i, j, run, apart = i[some], j[some], run[some], apart[some]
    along = (apart**2 + radii[i] ** 2 - radii[j] ** 2) / (2.0 * apart)
    beside = radii[i] ** 2 - along**2
    meet = beside >= 0.0
    foot = centres[i] + (along / apart)[:, None] * run
    out = (np.sqrt(np.maximum(beside, 0.0)) / apart)[:, None] * np.column_stack([-run[:, 1], run[:, 0]])
    return np.concatenate([(foot + out)[meet], (foot - out)[meet]])


def _some_turn(holes_mm: F64, pins_mm: F64, play_mm: F64, best: float) -> float | None:
    """Return a turn near the best at which every pin goes through, or None."""
    reach = _most_turn(holes_mm, play_mm)
    turns = best + reach * np.linspace(-1.0, 1.0, 2 * TURNS)
    return next((float(t) for t in turns if len(_ends(float(t), holes_mm, pins_mm, play_mm))), None)


def _last_turn(inside: float, outside: float, holes_mm: F64, pins_mm: F64, play_mm: F64) -> float:
    """Return the last turn towards ``outside`` at which every pin goes through, by halving."""
    for _ in range(HALVINGS):
        middle = 0.5 * (inside + outside)
        if len(_ends(middle, holes_mm, pins_mm, play_mm)):
            inside = middle
        else:
            outside = middle
    return inside
