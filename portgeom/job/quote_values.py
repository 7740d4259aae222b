"""What does a job say of rates, times and prices?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Each: TypeAlias = Literal["port", "head"]


@dataclass(frozen=True, slots=True)
class Range:
    """A figure that is not known to a point: at least, most likely, at most."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class FixedTime:
    """Work that takes its time whatever the metal: once a port, or once a head."""

    name: str
    minutes: Range
    each: Each = "port"


@dataclass(frozen=True, slots=True)
class Quote:
    """Rates and prices as the user knows them; None where the job does not say.

    ``metal_cc_per_min`` is for cutters without a rate of their own, ``finish_cm2_per_min`` for finishing walls.
    """

    metal_cc_per_min: Range | None = None
    finish_cm2_per_min: Range | None = None
    hourly_rate: float | None = None
    currency: str = ""
    fixed: tuple[FixedTime, ...] = ()
    not_included: tuple[str, ...] = ()
