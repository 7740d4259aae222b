"""Where round a section does something lie, as on a clock's face?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64


def clock_words(off_mm: F64) -> str:
    """Return the clock position of a place (2,) seen from the middle, to the nearest half hour.

    Examples
    --------
    >>> clock_words(np.array([1.0, 0.0])), clock_words(np.array([-0.1, 5.0]))
    ("3 o'clock", "12 o'clock")
    """
    halves = round(float(np.degrees(np.arctan2(off_mm[0], off_mm[1]))) / 15.0) % 24
    hour = halves // 2 or 12
    return f"half past {hour}" if halves % 2 else f"{hour} o'clock"
