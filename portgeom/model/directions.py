"""Which way do section planes look, where a table gives places and no angles?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen

NEARLY_UPRIGHT_DEG = 10.0
"""Within this of straight down or up, level says little of which way is right; the station before says more."""


@dataclass(frozen=True, slots=True)
class Directions:
    """Pitch, yaw and roll (n,) of section planes, in degrees."""

    pitch_deg: F64
    yaw_deg: F64
    roll_deg: F64


def directions_along(places_mm: F64) -> Directions:
    """Return the directions of the circles through each three neighbouring places (n, 3).

    Notes
    -----
    A plane's right is level. Of its two level directions the one that goes on from the station before is
    taken, so a path may turn past the vertical; within 10 degrees of it, right is carried on from the station
    before without twist, since there a tenth of a millimetre in a place would spin it.
    """
    tangent = _tangents(places_mm)
    angles = np.empty((len(tangent), 3))
    right = None
    for i, t in enumerate(tangent):
        pitch, yaw, roll = np.arctan2(-t[2], np.hypot(t[0], t[1])), np.arctan2(t[0], t[1]), 0.0
        level = np.array([np.cos(yaw), -np.sin(yaw), 0.0])
        if right is not None:
            before = tangent[i - 1]
            together = 1.0 + before @ t  # 0 where the path doubles back, which the path itself refuses
            carried = right - (right @ t) / together * (before + t) if together > 0.0 else right
            if carried @ level < 0.0:
                pitch, yaw, level = np.pi - pitch, yaw + np.pi, -level
            if np.hypot(t[0], t[1]) < np.sin(np.radians(NEARLY_UPRIGHT_DEG)):
                roll = np.arctan2(carried @ np.cross(level, t), carried @ level)
                level = carried
        right = level
        angles[i] = pitch, yaw, roll
    return Directions(*(frozen(a) for a in np.degrees(angles.T)))


def _tangents(places: F64) -> F64:
    if len(places) == 2:
        tangent = np.repeat(np.diff(places, axis=0), 2, axis=0)
    else:
        chord = np.diff(places, axis=0)
        length = np.linalg.norm(chord, axis=1)[:, None]
        slope = chord / np.where(length > 0.0, length, 1.0)  # places that fall together are refused by the path
        inner = slope[:-1] * length[1:] + slope[1:] * length[:-1]
        ends = np.concatenate([_mirrored_in(inner[:1], slope[:1]), _mirrored_in(inner[-1:], slope[-1:])])
        tangent = np.concatenate([ends[:1], inner, ends[1:]])
    size = np.linalg.norm(tangent, axis=1)[:, None]
    return np.where(size > 0.0, tangent / np.where(size > 0.0, size, 1.0), np.array([0.0, 1.0, 0.0]))


def _mirrored_in(vectors: F64, chord: F64) -> F64:
    """Return vectors (k, 3) mirrored in unit chords: a circle leaves a chord as it arrives."""
    return 2.0 * np.einsum("ij,ij->i", vectors, chord)[:, None] * chord - vectors
