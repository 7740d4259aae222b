"""What do all charts and pictures look like: colours, sizes, and the scale for proud heights?

Colours are told apart by people with any of the common kinds of colour blindness, and every curve that
has a colour also has its own line style or its own words beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.job.units import length_from_mm
from portgeom.job.values import Units

if TYPE_CHECKING:
    from matplotlib.colors import Colormap, Normalize


@dataclass(frozen=True, slots=True)
class Style:
    """One look for every chart. Sizes in points, colours as ``#rrggbb``."""

    ink: str = "#22262b"
    quiet: str = "#68717a"
    faint: str = "#d5d9dd"
    paper: str = "#ffffff"
    present: str = "#2f4b6e"
    wanted: str = "#00796b"
    metal: str = "#f0a860"
    past: str = "#2a6fbb"
    neutral: str = "#efece6"
    casting: str = "#b9c0c6"
    hidden: str = "#3f4a6b"
    font_size: float = 9.0
    small_size: float = 7.5
    line_width: float = 1.6
    thin_width: float = 0.6


STYLE = Style()

PROUD_STEPS = {"mm": (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0), "in": (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)}
"""Steps that a scale of heights may have, in each unit."""

WANTED_STEPS = 7
"""A scale of heights has about this many steps from zero to its far end."""


@dataclass(frozen=True, slots=True)
class ProudScale:
    """A colour scale for proud heights: zero is neutral, and equal heights either way are equally strong.

    Attributes
    ----------
    units : "mm" or "in"
    step, low, high : float
        Step of its marks and its ends, in those units; ``low <= 0 <= high`` and both are whole steps.
    """

    units: Units
    step: float
    low: float
    high: float

    @classmethod
    def over(cls, lowest_mm: float, highest_mm: float, units: Units) -> ProudScale:
        """Return a scale that holds heights from ``lowest_mm`` to ``highest_mm``.

        Examples
        --------
        >>> ProudScale.over(-0.3, 6.03, "mm")
        ProudScale(units='mm', step=1.0, low=-1.0, high=7.0)
        """
        low, high = (length_from_mm(x, units) for x in (min(0.0, lowest_mm), max(0.0, highest_mm)))
        reach = max(-low, high)
        steps = PROUD_STEPS[units]
        step = next((s for s in steps if reach <= WANTED_STEPS * s), steps[-1])
        ends = float(np.floor(low / step + 1e-9)), float(np.ceil(high / step - 1e-9))
        last = ends[1] if ends != (0.0, 0.0) else 1.0
        return cls(units, step, ends[0] * step, last * step)

    @property
    def marks(self) -> tuple[float, ...]:
        """Return the marks of the scale, zero among them."""
        first, last = round(self.low / self.step), round(self.high / self.step)
        return tuple(round(k * self.step, 6) for k in range(first, last + 1))

    @property
    def low_words(self) -> str:
        """Return what its lower end means."""
        return "already past the line" if self.low < 0.0 else "at the line"

    @property
    def high_words(self) -> str:
        """Return what its upper end means."""
        return "above the line: metal to take off" if self.high > 0.0 else "at the line"

    @property
    def words(self) -> str:
        """Return what the scale is called, with its signs in words."""
        return f"height over the line, {self.units}"

    def colours(self) -> tuple[Colormap, Normalize]:
        """Return the colour map and its norm, for heights in the scale's units."""
        from matplotlib.colors import LinearSegmentedColormap, Normalize

        whole = LinearSegmentedColormap.from_list(
            "proud", ["#123f77", "#4b87c5", STYLE.neutral, "#e58e3c", "#8f3206"], N=511
        )
        reach = max(-self.low, self.high)
        share = np.linspace(0.5 * (1.0 + self.low / reach), 0.5 * (1.0 + self.high / reach), 511)
        # 255 colours and one for nothing: a picture in these colours alone needs no more than a byte a point
        cut = LinearSegmentedColormap.from_list("proud", whole(share), N=255)
        return cut, Normalize(self.low, self.high)
