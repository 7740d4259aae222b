"""What is the array type used everywhere, how is one made safe to share, and how are places of its rows taken?"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

F64: TypeAlias = npt.NDArray[np.float64]
"""Array of float64. Shapes are given where the array is."""

F32: TypeAlias = npt.NDArray[np.float32]
"""Array of float32, where very many numbers are wanted fast and millimetres to three places will do."""

Int: TypeAlias = npt.NDArray[np.intp]
"""Array of indices."""

Bool: TypeAlias = npt.NDArray[np.bool_]
"""Array of truth values."""


def frozen(values: npt.ArrayLike) -> F64:
    """Return a read-only float64 copy of ``values``."""
    return read_only(np.array(values, dtype=np.float64))


def read_only(array: F64) -> F64:
    """Return the same array, which nobody else holds, read-only from now on."""
    array.setflags(write=False)
    return array


def of_rows(values: F64, at: Int) -> F64:
    """Return from every row of values (m, n, ...) its places ``at`` (m, k), as (m, k, ...).

    As numpy.take_along_axis, but each place is taken whole: many times as quick.
    """
    rows, places = values.shape[:2]
    one_after_another = np.ascontiguousarray(values).reshape(rows * places, *values.shape[2:])
    return np.take(one_after_another, at + places * np.arange(rows)[:, None], axis=0)
