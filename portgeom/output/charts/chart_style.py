"""What do all charts and pictures look like: colours, sizes, and the scale for proud heights?

Colours are told apart by people with any of the common kinds of colour blindness, and every curve that
has a colour also has its own line style or its own words beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units

if TYPE_CHECKING:
    from matplotlib.colors import Colormap, Normalize

Bytes: TypeAlias = npt.NDArray[np.uint8]


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

PROUD_COLOURS = ("#123f77", "#4b87c5", STYLE.neutral, "#e58e3c", "#8f3206")
"""From far past the line, over at the line, to far above it: blue and orange are told apart whatever the eye."""

PROUD_STEPS = {"mm": (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0), "in": (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)}
"""Steps that a scale of heights may have, in each unit."""

WANTED_STEPS = 7
"""A scale of heights has about this many steps from zero to its far end."""


@dataclass(frozen=True, slots=True)
class Ramp:
    """Colours along a range of values.

    Attributes
    ----------
    stops : tuple of (value, colour)
        Rising values with colours as ``#rrggbb``, mixed linearly between; a value twice is where the colour jumps.
    """

    stops: tuple[tuple[float, str], ...]

    @property
    def low(self) -> float:
        """Return its lower end."""
        return self.stops[0][0]

    @property
    def high(self) -> float:
        """Return its upper end."""
        return self.stops[-1][0]

    def mixed(self, values: F64) -> F64:
        """Return red, green and blue from 0 to 255 (..., 3) of values (...), clipped to the range, not rounded."""
        at = np.array([value for value, _ in self.stops])
        colours = np.array([[int(c[k : k + 2], 16) for k in (1, 3, 5)] for _, c in self.stops], dtype=np.float64)
        # of two stops at one value the later holds from there on
        after = np.clip(np.searchsorted(at, values, side="right"), 1, len(at) - 1)
        span = at[after] - at[after - 1]
        share = np.clip((values - at[after - 1]) / np.where(span > 0.0, span, 1.0), 0.0, 1.0)[..., None]
        return (1.0 - share) * colours[after - 1] + share * colours[after]

    def rgb(self, values: F64) -> Bytes:
        """Return red, green and blue (..., 3) of values (...), which are no NaN."""
        return np.round(self.mixed(values)).astype(np.uint8)

    def banded(self, values: F64) -> Bytes:
        """Return the same in 255 colours at most: a picture in these alone needs no more than a byte a point."""
        step = (self.high - self.low) / COLOURS
        band = np.clip(np.floor((values - self.low) / step), 0, COLOURS - 1)
        return self.rgb(self.low + (band + 0.5) * step)

    def hex_at(self, value: float) -> str:
        """Return the colour of one value as ``#rrggbb``.

        Examples
        --------
        >>> Ramp(((0.0, "#000000"), (1.0, "#ffffff"))).hex_at(0.2)
        '#333333'
        """
        return "#" + "".join(f"{int(c):02x}" for c in self.rgb(np.array([value]))[0])

    def colours(self) -> tuple[Colormap, Normalize]:
        """Return a colour map of 255 colours and its norm, for those who draw with them."""
        from matplotlib.colors import ListedColormap, Normalize

        ends = np.linspace(self.low, self.high, COLOURS)
        return ListedColormap(self.mixed(ends) / 255.0), Normalize(self.low, self.high, clip=True)


COLOURS = 255


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

    @property
    def ramp(self) -> Ramp:
        """Return the colours, for heights in the scale's units."""
        reach = max(-self.low, self.high)
        at = [reach * x for x in (-1.0, -0.5, 0.0, 0.5, 1.0)]
        whole = Ramp(tuple(zip(at, PROUD_COLOURS, strict=True)))
        inside = tuple(stop for stop in whole.stops if self.low < stop[0] < self.high)
        ends = [(end, whole.hex_at(end)) for end in (self.low, self.high)]
        return Ramp((ends[0], *inside, ends[1]))

    def colours(self) -> tuple[Colormap, Normalize]:
        """Return the colour map and its norm, for heights in the scale's units."""
        return self.ramp.colours()
