"""What shape does a rotary cutter have? A body of revolution, by the burr shapes of ISO 7755.

The sizes that the standard leaves to its tables (nose radius, place of the largest diameter) are stated
here as shares of the diameter or length; they are from memory of common burrs, not from the tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

import numpy as np

from portgeom.geometry.arrays import F64

CutterShape: TypeAlias = Literal[
    "ball",
    "cylinder",
    "round-nose cylinder",
    "oval",
    "arch round nose",
    "arch pointed nose",
    "flame",
    "cone",
    "conical round nose",
]
CUTTER_SHAPES: tuple[CutterShape, ...] = get_args(CutterShape)

ARCH_NOSE = 0.25
"""Nose radius of an arch round nose, as a share of the diameter (from memory)."""

FLAME_WAIST = 0.6
"""Where a flame is widest, as a share of its length from the tip (from memory)."""

FLAME_BACK = 0.75
"""Radius of a flame at its back, as a share of its largest (from memory)."""

CONE_HALF_ANGLE_RAD = np.radians(7.0)
"""Half the included angle of a conical round nose, 14 degrees (from memory)."""


@dataclass(frozen=True, slots=True)
class CutterBody:
    """A cutter's head as a profile of revolution, with the shank behind it.

    Attributes
    ----------
    shape : CutterShape
    diameter_mm, length_mm : float
        Of the head.
    shank_mm, reach_mm : float
        Shank diameter, and how far the whole tool can stick out of its holder.
    """

    shape: CutterShape
    diameter_mm: float
    length_mm: float
    shank_mm: float
    reach_mm: float

    @property
    def radius_mm(self) -> float:
        """Return the largest radius."""
        return 0.5 * self.diameter_mm

    @property
    def widest_mm(self) -> float:
        """Return how far behind the tip the head is first at its largest radius."""
        match self.shape:
            case "ball" | "round-nose cylinder":
                return self.radius_mm
            case "oval":
                return 0.5 * self.length_mm
            case "flame":
                return FLAME_WAIST * self.length_mm
            case "cylinder":
                return 0.0
            case _:
                return self.length_mm

    def radius_at_mm(self, behind_tip_mm: F64) -> F64:
        """Return the head's radius at places behind its tip; 0 where there is no head.

        Parameters
        ----------
        behind_tip_mm : (...) float
            From 0 at the tip to the length of the head.
        """
        z = np.asarray(behind_tip_mm, dtype=np.float64)
        inside = (z >= 0.0) & (z <= self.head_mm)
        return np.where(inside, self._profile(np.clip(z, 0.0, self.head_mm)), 0.0)

    @property
    def head_mm(self) -> float:
        """Return the length of the head that cuts; a ball's ends where the ball does."""
        return min(self.length_mm, self.diameter_mm) if self.shape == "ball" else self.length_mm

    def _profile(self, z: F64) -> F64:
        big, length = self.radius_mm, self.length_mm
        match self.shape:
            case "cylinder":
                return np.full_like(z, big)
            case "ball":
                return _sphere(z, big)
            case "round-nose cylinder":
                return np.where(z < big, _sphere(z, big), big)
            case "oval":
                return big * np.sqrt(np.maximum(0.0, 1.0 - (2.0 * z / length - 1.0) ** 2))
            case "arch pointed nose":
                return _arch(z, big, length)
            case "arch round nose":
                return _round_arch(z, big, length, ARCH_NOSE * self.diameter_mm)
            case "flame":
                waist = FLAME_WAIST * length
                back = big - (1.0 - FLAME_BACK) * big * ((z - waist) / (length - waist)) ** 2
                return np.where(z < waist, _arch(z, big, waist), back)
            case "cone":
                return big * z / length
            case "conical round nose":
                return _round_cone(z, big, length)


def _sphere(z: F64, radius: float) -> F64:
    return np.sqrt(np.maximum(0.0, radius**2 - (z - radius) ** 2))


def _arch(z: F64, big: float, length: float) -> F64:
    """Return an arc that leaves the tip and runs out parallel to the axis at the back."""
    arc = (big**2 + length**2) / (2.0 * big)
    return np.sqrt(np.maximum(0.0, arc**2 - (length - z) ** 2)) - (arc - big)


def _round_arch(z: F64, big: float, length: float, nose: float) -> F64:
    """Return an arc parallel to the axis at the back that runs into a nose sphere at the tip."""
    # the arc's centre lies at (length, big - arc); it touches the sphere of radius nose about (nose, 0)
    run = length - nose
    arc = (run**2 + big**2 - nose**2) / (2.0 * (big - nose))
    touch = nose - nose * run / np.hypot(run, arc - big)
    side = np.sqrt(np.maximum(0.0, arc**2 - (length - z) ** 2)) - (arc - big)
    return np.where(z < touch, _sphere(z, nose), side)


def _round_cone(z: F64, big: float, length: float) -> F64:
    """Return a cone whose tip is a sphere that touches it."""
    slope, sine, cosine = np.tan(CONE_HALF_ANGLE_RAD), np.sin(CONE_HALF_ANGLE_RAD), np.cos(CONE_HALF_ANGLE_RAD)
    nose = max(0.0, (big - length * slope) * cosine / (1.0 - sine))
    touch = nose * (1.0 - sine)
    # a head longer than its cone ends in a point, with nothing before it
    return np.where(z < touch, _sphere(z, nose), np.maximum(0.0, big - (length - z) * slope))
