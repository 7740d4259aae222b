"""How does a cutter's head touch a wall, whichever way its axis stands to it?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F32, F64, Int
from portgeom.geometry.cutter import CutterBody

FIT_MM = 0.25
"""How far the head may seem to stand into the wall and still count as touching it: the room's own error."""

COVER_MM = 0.15
"""How far the head may stand out of the balls that are asked in its stead."""

PROFILE_PLACES = 241
"""Places along a head's profile."""

MOST_BALLS = 12
"""A pointed tip would take endlessly many ever smaller balls."""


DEGREES = 180
"""It touches alike within half a degree."""


@dataclass(frozen=True, slots=True)
class Touch:
    """Where a cutter touches a wall, for every degree between its axis (tip to holder) and the way into the metal.

    Attributes
    ----------
    behind_mm, radius_mm : (k,) float32
        Place on the head's profile that touches.
    ball_behind_mm, ball_radius_mm : (k,) float32
        The ball inside the head, centred on its axis, that touches there, or nearly where the head has an edge.
    core_mm : (j, 2) float32
        Balls inside head and shank that together fill the head to within COVER_MM, but for its edges: places
        along the axis, and radii.
    rings_mm : (j, 2) float32
        Edges of the head that no such ball reaches: place along the axis, and radius.
    """

    behind_mm: F32
    radius_mm: F32
    ball_behind_mm: F32
    ball_radius_mm: F32
    core_mm: F32
    rings_mm: F32


def touch_row(cosine: F32) -> Int:
    """Return which row of ``Touch`` holds for a cosine between axis and the way into the metal."""
    degrees = np.arccos(np.clip(cosine, np.float32(-1.0), np.float32(1.0))) * np.float32(DEGREES / np.pi)
    return np.rint(degrees).astype(np.intp)


def touch_of(body: CutterBody) -> Touch:
    """Return how a cutter touches walls, for every degree between its axis and the wall."""
    # closer together at both ends, where a profile may stand square to the axis
    z = 0.5 * body.head_mm * (1.0 - np.cos(np.linspace(0.0, np.pi, PROFILE_PLACES)))
    r = body.radius_at_mm(z)
    angle = np.radians(np.arange(DEGREES + 1.0))
    support = np.argmax(np.cos(angle)[:, None] * z + np.sin(angle)[:, None] * r, axis=1)
    inner = _inner_mm(body, z, r)
    sine = np.maximum(np.sin(angle), 1e-3)
    ball = np.clip(z[support] - r[support] * np.cos(angle) / sine, 0.0, body.head_mm)
    core = _core(z, r, inner)
    edges = [(z[k], r[k]) for k in (0, -1) if r[k] - inner[k] > FIT_MM and r[k] > 0.5 * body.shank_mm]
    return Touch(
        z[support].astype(np.float32),
        r[support].astype(np.float32),
        ball.astype(np.float32),
        np.interp(ball, z, inner).astype(np.float32),
        np.column_stack([z[core], inner[core]]).astype(np.float32),
        np.array(edges, dtype=np.float32).reshape(-1, 2),
    )


def _core(z: F64, r: F64, inner: F64) -> list[int]:
    """Return which balls fill the head, the one that fills most of what is left each time."""
    touches = np.hypot(z[:, None] - z, r) <= inner[:, None] + COVER_MM
    chosen: list[int] = []
    left = np.ones(len(z), dtype=bool)
    while len(chosen) < MOST_BALLS:
        gain = (touches & left).sum(axis=1)
        best = int(np.argmax(gain + inner / (2.0 * inner.max())))  # of those that fill alike the largest
        if gain[best] == 0:
            break
        chosen.append(best)
        left &= ~touches[best]
    return chosen


def _inner_mm(body: CutterBody, z: F64, r: F64) -> F64:
    """Return the radius (k,) of the largest ball inside head and shank about places on the axis."""
    bare = 0.5 * body.shank_mm
    back = np.linspace(min(bare, r[-1]), max(bare, r[-1]), 21)
    behind = body.head_mm + np.linspace(0.0, body.diameter_mm, 41)
    skin_z = np.concatenate([z, np.full(len(back), body.head_mm), behind])
    skin_r = np.concatenate([r, back, np.full(len(behind), bare)])
    inner = np.hypot(z[:, None] - skin_z, skin_r).min(axis=1)
    return np.minimum(inner, z) if r[0] > 0.0 else inner


@dataclass(frozen=True, slots=True)
class Tool:
    """A cutter ready to be led: its body, how it touches, and the clearance its shank must keep."""

    body: CutterBody
    touch: Touch
    clearance_mm: float

    @property
    def need_mm(self) -> float:
        """Return how far the shank's axis has to stay from metal."""
        return 0.5 * self.body.shank_mm + self.clearance_mm
