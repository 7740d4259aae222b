"""How does an edge on the sheet lie in its section plane: which way is the roof, and where is the origin?"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal, TypeAlias

import numpy as np

from portgeom.capture.images.unsure import Unsure
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline
from portgeom.job.drawing import holds_origin

RoofWay: TypeAlias = Literal["up", "right", "down", "left", "mark"]
OriginWay: TypeAlias = Literal["centroid", "lowest", "mark", "drawing"]

ROOF_DEG = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}

SPOT_MM2 = (0.8, 60.0)
"""Area of a spot in a slice that marks its origin: a pin hole of a millimetre at least."""

LEAST_ARM_MM = 2.0
"""A roof mark nearer the origin than this would give no direction."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the section's axes lie on the sheet, in mm of the picture.

    Attributes
    ----------
    origin_mm, roof : (2,) float
        The origin, and the unit direction towards the roof.
    mirrored : bool
        Whether the picture shows the section looking out, so that left and right are swapped.
    roof_words, origin_words : str
        How each was found.
    """

    origin_mm: F64
    roof: F64
    mirrored: bool
    roof_words: str
    origin_words: str

    @property
    def right(self) -> F64:
        """Return (2,) the direction on the sheet of what is right looking in."""
        right = np.array([self.roof[1], -self.roof[0]])
        return -right if self.mirrored else right

    def to_section(self, points_mm: F64) -> F64:
        """Return (n, 2) u and v of places on the sheet."""
        away = points_mm - self.origin_mm
        return np.column_stack([away @ self.right, away @ self.roof])

    def to_sheet(self, section_mm: F64) -> F64:
        """Return (n, 2) places on the sheet of u and v."""
        return self.origin_mm + section_mm[:, :1] * self.right + section_mm[:, 1:] * self.roof


def placing(
    edge_mm: F64,
    spots_mm: tuple[F64, ...],
    marks_mm: F64,
    *,
    roof: RoofWay | float,
    origin: OriginWay | F64,
    mirrored: bool,
    frame: str = "picture",
) -> Placing:
    """Return how a slice lies.

    Parameters
    ----------
    edge_mm : (n, 2) float
        Its edge on the sheet.
    spots_mm : tuple of (k, 2) float
        Edges of spots in it.
    marks_mm : (m, 2) float
        Marks beside it.
    roof : RoofWay or float
        Degrees from the picture's top, clockwise, in place of a word.
    origin : OriginWay or (2,) float
        A place on the sheet in place of a word; "drawing" is the sheet's own 0, 0.
    frame : str
        What the sheet's y runs up along, for words.

    Raises
    ------
    Unsure
        If a mark that is to tell is missing or is not the only one.
    """
    moments = polygon_moments(edge_mm)
    centroid = moments.first_mm3 / float(moments.area_mm2)
    spot = _spot(spots_mm) if isinstance(origin, str) and origin == "mark" else None
    if isinstance(origin, str) and origin == "drawing":
        middle = np.zeros(2)
    else:
        middle = spot if spot is not None else centroid if isinstance(origin, str) else origin
    way, roof_words = _roof(marks_mm, middle, roof, frame)
    if not isinstance(origin, str):
        where = "drawing" if frame == "drawing" else "picture"
        return Placing(middle, way, mirrored, roof_words, f"the place given in the {where}")
    if origin == "drawing":
        return Placing(middle, way, mirrored, roof_words, "the drawing's own")
    if spot is not None:
        return Placing(middle, way, mirrored, roof_words, "the spot marked in the slice")
    if origin == "lowest":
        lowest = float(((edge_mm - centroid) @ way).min())
        words = "below the centroid, level with the lowest point"
        return Placing(centroid + lowest * way, way, mirrored, roof_words, words)
    return Placing(centroid, way, mirrored, roof_words, "the centroid")


def outside_notes(outline: Outline, origin: OriginWay | F64) -> tuple[str, ...]:
    """Tell where an origin that was given lies outside the outline, and with it the path."""
    if (isinstance(origin, str) and origin != "drawing") or holds_origin(outline):
        return ()
    return ("the origin lies outside its outline, so the path would too; take another --origin",)


def _spot(spots_mm: tuple[F64, ...]) -> F64:
    moments = [polygon_moments(s) for s in spots_mm]
    fit = [m for m in moments if SPOT_MM2[0] <= abs(float(m.area_mm2)) <= SPOT_MM2[1]]
    if len(fit) != 1:
        count = "no spot" if not fit else f"{len(fit)} spots"
        raise Unsure(
            f"has {count} of {SPOT_MM2[0]:g} to {SPOT_MM2[1]:g} mm2 in it to mark the origin",
            "mark the origin with one hole or dot at least 1.5 mm across, or take --origin centroid",
            about="origin",
        )
    return fit[0].first_mm3 / float(fit[0].area_mm2)


def _roof(marks_mm: F64, middle: F64, roof: RoofWay | float, frame: str) -> tuple[F64, str]:
    if isinstance(roof, str) and roof == "mark":
        if not len(marks_mm):
            raise Unsure("has no mark beside it to show its roof", "lay one beside it, or give --roof", about="roof")
        arm = marks_mm.mean(axis=0) - middle
        length = float(np.hypot(*arm))
        if length < LEAST_ARM_MM:
            raise Unsure("its marks lie all round it", "lay the marks at its roof only", about="roof")
        return arm / length, "towards the mark beside it"
    degrees = ROOF_DEG[roof] if isinstance(roof, str) else roof
    words = (
        f"towards the {frame}'s {_side(roof)}"
        if isinstance(roof, str)
        else f"{roof:g} degrees clockwise from the {frame}'s top"
    )
    return np.array([sin(radians(degrees)), cos(radians(degrees))]), words


def _side(roof: str) -> str:
    return {"up": "top", "down": "bottom"}.get(roof, roof)
