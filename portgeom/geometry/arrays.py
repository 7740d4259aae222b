"""What is the array type used everywhere, and how is one made safe to share?"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

F64: TypeAlias = npt.NDArray[np.float64]
"""Array of float64. Shapes are given where the array is."""

Int: TypeAlias = npt.NDArray[np.intp]
"""Array of indices."""

Bool: TypeAlias = npt.NDArray[np.bool_]
"""Array of truth values."""


def frozen(values: npt.ArrayLike) -> F64:
    """Return a read-only float64 copy of ``values``."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array
