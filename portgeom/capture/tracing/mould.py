"""What does a slice of a mould say of the port it was cast in?

Silicone shrinks as it cures, the saw takes a kerf away, one of the two faces of a slice was on the glass, and
calipers laid on the same slice show whether the picture's scale can be believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.capture.images.unsure import Unsure

ScannedFace: TypeAlias = Literal["entry", "far"]

MOST_SHRINK_PERCENT = 5.0
MOST_KERF_MM = 5.0

CALIPER_MM = 0.3
"""Soft silicone gives under the jaws: two tenths are common practice, and a tenth is the trace's own."""

LIKE_PERCENT = 0.5
"""Two ratios that differ by less than this are one wrong scale, not two wrong readings."""


@dataclass(frozen=True, slots=True)
class Mould:
    """How a mould was cut and scanned.

    Attributes
    ----------
    scanned : "entry" or "far"
        Which face of the slice was seen: towards the manifold face, or away from it.
    shrink_percent : float
        How much shorter than the port the mould is, of the port's length.
    kerf_mm : float
        Width of the saw's cut, centred on the mark.
    """

    scanned: ScannedFace
    shrink_percent: float
    kerf_mm: float

    @property
    def mirrored(self) -> bool:
        """Return whether the picture looks out of the port: the far face is seen from the seat's side."""
        return self.scanned == "far"

    @property
    def growth(self) -> float:
        """Return what lengths on the mould are multiplied by to be those of the port.

        Examples
        --------
        >>> round(Mould("entry", 0.5, 0.0).growth, 6)
        1.005025
        """
        return 1.0 / (1.0 - self.shrink_percent / 100.0)

    @property
    def beyond_mark_mm(self) -> float:
        """Return how far beyond its mark, into the port, the scanned face lay before the cut."""
        half = 0.5 * self.kerf_mm
        return half if self.scanned == "entry" else -half


def mould(scanned: ScannedFace, shrink_percent: float, kerf_mm: float) -> Mould:
    """Return how a mould was cut and scanned.

    Raises
    ------
    Unsure
        If a figure is out of range.
    """
    if not 0.0 <= shrink_percent <= MOST_SHRINK_PERCENT:
        raise Unsure(
            f"{shrink_percent:g} percent is out of range",
            f"give from 0 to {MOST_SHRINK_PERCENT:g}; the silicone's sheet says it",
            about="shrink",
        )
    if not 0.0 <= kerf_mm <= MOST_KERF_MM:
        raise Unsure(f"{kerf_mm:g} mm is out of range", f"give from 0 to {MOST_KERF_MM:g} mm", about="kerf")
    return Mould(scanned, shrink_percent, kerf_mm)


@dataclass(frozen=True, slots=True)
class Calipers:
    """What calipers read across a slice, as it lay on the glass. None where not read."""

    width_mm: float | None = None
    height_mm: float | None = None


def caliper_words(read: Calipers, width_mm: float, height_mm: float) -> tuple[str, ...]:
    """Return in words how a slice as traced differs from its caliper readings; nothing where it does not.

    Examples
    --------
    >>> caliper_words(Calipers(40.1, 50.0), 40.0, 50.1)
    ()
    """
    pairs = [("width", read.width_mm, width_mm), ("height", read.height_mm, height_mm)]
    off = [(name, r, t) for name, r, t in pairs if r is not None and abs(t - r) > CALIPER_MM]
    if not off:
        return ()
    words = [f"its {name} traces as {t:.2f} mm and the calipers read {r:.2f} mm" for name, r, t in off]
    return (*words, _reason(read, width_mm, height_mm))


def _reason(read: Calipers, width_mm: float, height_mm: float) -> str:
    if read.width_mm is None or read.height_mm is None:
        return "read the other way too, to tell a wrong scale from a wrong reading"
    wide, tall = width_mm / read.width_mm, height_mm / read.height_mm
    swapped = max(abs(width_mm - read.height_mm), abs(height_mm - read.width_mm)) <= CALIPER_MM
    if swapped:
        return "width and height are swapped: check which way the roof is"
    if abs(wide / tall - 1.0) <= LIKE_PERCENT / 100.0:
        percent = 100.0 * (0.5 * (wide + tall) - 1.0)
        large = "large" if percent > 0.0 else "small"
        return (
            f"both are {abs(percent):.1f} percent too {large}, so the picture's scale is off: areas would be wrong by "
            f"{abs(2.0 * percent):.1f} percent"
        )
    return "they are off by different shares: the slice lay askew or was pressed, or a reading is wrong"
