"""What is asked of a picture of slices, and what was traced in it?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.capture.images.file import Picture
from portgeom.capture.images.light import Coding
from portgeom.capture.images.scale import Scale
from portgeom.capture.tracing.bumps import Bump
from portgeom.capture.tracing.find import Tone
from portgeom.capture.tracing.mould import Mould
from portgeom.capture.tracing.place import OriginWay, Placing, RoofWay
from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline

Numbering: TypeAlias = Literal["order", "tally"]


EdgeWay: TypeAlias = Literal["outer", "inner"]


ALL = 0
"""As many slices as there are."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What a person says of a picture.

    Attributes
    ----------
    slices : int
        How many slices it shows; 0 for as many as there are.
    tone : Tone or None
        Whether the slices are darker or lighter than the sheet; None to see.
    edge : EdgeWay or None
        Which edge of a ring is meant; None refuses a ring.
    roof, origin : see ``placing``; a place for the origin is in pixels of a picture, in mm in a drawing.
    mirrored : bool
        The picture looks out of the port.
    numbering : Numbering
        By place on the sheet, or by the tally of marks beside each slice.
    mould : Mould or None
        How the mould was cut, where the slices are of one.
    """

    slices: int = 1
    tone: Tone | None = None
    coding: Coding = "srgb"
    edge: EdgeWay | None = None
    roof: RoofWay | float = "up"
    origin: OriginWay | F64 = "centroid"
    mirrored: bool = False
    numbering: Numbering = "order"
    mould: Mould | None = None


@dataclass(frozen=True, slots=True)
class Slice:
    """One traced slice.

    Attributes
    ----------
    number : int
        Its place in the picture, from 1, or what its marks spell.
    outline : Outline
        In its section plane, of the port itself: shrinkage is made good.
    sheet_mm : (n, 2) float
        The same on the sheet, as it lay.
    placing : Placing
        Where its axes lay on the sheet.
    width_mm, height_mm : float
        As it lay, which is what calipers would read on it.
    smoothed_mm : float
        The furthest that any traced point lies from the outline.
    within_mm : float
        How near the outline's points are to the edge by what is known of the picture, away from bumps.
    hairs_mm : tuple of (m, 2) float
        What was cut off as hairs, on the sheet.
    bumps : tuple of Bump
        Where the edge may be dust, on the sheet.
    pockets_mm : tuple of (m, 2) float
        What was cut off for lying behind the slice's own wall, on the sheet.
    notes, warnings : tuple of str
        What a person should know, and what a job would refuse.
    """

    number: int
    outline: Outline
    sheet_mm: F64
    placing: Placing
    width_mm: float
    height_mm: float
    smoothed_mm: float
    within_mm: float
    hairs_mm: tuple[F64, ...]
    bumps: tuple[Bump, ...]
    pockets_mm: tuple[F64, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Traced:
    """A picture and the slices in it, by number. ``specks_mm`` (k, 2) and ``marks_mm`` (m, 2) lie beside them."""

    picture: Picture
    scale: Scale
    tone: Tone
    channel: str
    slices: tuple[Slice, ...]
    specks_mm: F64
    marks_mm: F64
    notes: tuple[str, ...]

    @property
    def name(self) -> str:
        """Return the file's name."""
        return self.picture.name

    @property
    def scale_words(self) -> str:
        """Return where the scale comes from."""
        return self.scale.words

    @property
    def told(self) -> tuple[str, ...]:
        """Return what a person should know of the whole picture."""
        return (*self.picture.notes, *self.scale.notes, *self.notes)

    def to_page(self, points_mm: F64) -> F64:
        """Return where places on the sheet (n, 2) are in the picture, in pixels."""
        return self.scale.to_px(points_mm)
