"""How does a message name a length, so that whoever tells it can tell it in other units?

Geometry works in millimetres and does not know what units a person reads. A figure written here carries a
thin space before its unit; ``job.units.told`` finds it by that and tells it in mm or in inches.
"""

from __future__ import annotations

THIN_SPACE = "\u2009"


def mm(length_mm: float, digits: int | None = 1) -> str:
    """Return a length as a message names it.

    Parameters
    ----------
    digits : int or None
        Decimals; None for as many as the figure has, up to six figures.

    Examples
    --------
    >>> mm(12.34).replace(THIN_SPACE, " ")
    '12.3 mm'
    """
    figure = f"{length_mm:g}" if digits is None else f"{length_mm:.{digits}f}"
    return f"{figure}{THIN_SPACE}mm"


def mm2(area_mm2: float, digits: int = 1) -> str:
    """Return an area as a message names it."""
    return f"{area_mm2:.{digits}f}{THIN_SPACE}mm2"
