"""How does geometry that cannot be built say where and why, and how close counts as equal?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from portgeom.geometry.told_lengths import THIN_SPACE


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong at one station.

    Attributes
    ----------
    station : int
        Index of the section, 0 the first, in the table the section came from.
    field : str
        The column to look at.
    found, mend : str
        What is wrong and what would be right.
    """

    station: int
    field: str
    found: str
    mend: str


class GeometryError(ValueError):
    """Sections that make no port. ``findings`` lists every reason, not only the first."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        text = "; ".join(f"section {f.station + 1}: {f.found}; {f.mend}" for f in self.findings)
        super().__init__(text.replace(THIN_SPACE, " "))


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How close counts as equal, scaled to the model.

    ``length_mm`` separates places and distances, ``relative`` separates areas and other pure ratios.
    """

    length_mm: float
    relative: float = 1e-9

    @classmethod
    def for_size(cls, size_mm: float) -> Self:
        """Return the tolerance for a model of this overall size: a hundred-millionth of it."""
        return cls(length_mm=1e-8 * size_mm)
