"""Which colour has how much metal behind a wall? Dark where there is hardly any, pale where there is plenty.

The colours turn at the limit, and get steadily lighter with the wall, so that they are told apart in grey too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import Ramp

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.colors import Colormap, Normalize

    from portgeom.questions.walls.behind import Behind

OPEN, THIN, ENOUGH, PLENTY = "#2b0a02", "#cf5a13", "#f6d27c", "#e3eae9"
"""Colours of nothing left, of just under the limit, of just over it, and of the thickest told apart."""

STEPS: dict[Units, float] = {"mm": 3.0, "in": 0.1}
"""Step of the marks on the bar."""


@dataclass(frozen=True, slots=True)
class WallScale:
    """A colour scale for the metal left behind a wall, from none to the thickest that is told apart.

    Attributes
    ----------
    units : "mm" or "in"
    limit : float
        Where the colours turn, in those units.
    high : float
    """

    units: Units
    limit: float
    high: float

    @classmethod
    def over(cls, hazards: Sequence[Behind], to_mm: float, units: Units) -> WallScale:
        """Return a scale up to ``to_mm`` that turns at the greatest limit to any of some hazards."""
        limit = max((h.stop_mm for h in hazards), default=0.5 * to_mm)
        return cls(units, length_from_mm(min(limit, 0.9 * to_mm), units), length_from_mm(to_mm, units))

    @property
    def low(self) -> float:
        """Return its lower end."""
        return 0.0

    @property
    def marks(self) -> tuple[float, ...]:
        """Return the marks of the scale, the limit among them and no other close to it."""
        step = STEPS[self.units]
        even = [round(k * step, 6) for k in range(int(self.high / step + 1e-9) + 1)]
        return tuple(sorted({self._told_limit, *(m for m in even if abs(m - self.limit) > 0.4 * step)}))

    @property
    def _told_limit(self) -> float:
        """Return the limit as it is shown."""
        return round(self.limit, 2 if self.units == "mm" else 3)

    @property
    def low_words(self) -> str:
        """Return what its lower end means."""
        return "open"

    @property
    def high_words(self) -> str:
        """Return what lies beyond its upper end."""
        return f"{self.high:.3g} or more, or nothing named"

    @property
    def words(self) -> str:
        """Return what the scale is called."""
        turns = f"the colour turns at the limit, {self._told_limit:g} {self.units}"
        return f"metal left behind the wall, {self.units}; {turns}"

    @property
    def ramp(self) -> Ramp:
        """Return the colours, for walls in the scale's units."""
        return Ramp(((0.0, OPEN), (self.limit, THIN), (self.limit, ENOUGH), (self.high, PLENTY)))

    def colours(self) -> tuple[Colormap, Normalize]:
        """Return the colour map and its norm, for walls in the scale's units."""
        return self.ramp.colours()
