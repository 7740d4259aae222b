"""How does the light fall off over a sheet or a slice? A smooth surface through most of its pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from portgeom.capture.images.light import F32
from portgeom.geometry.arrays import F64

MOST_SAMPLES = 6_000
ROUNDS = 6
BISQUARE = 4.685
"""Holland and Welsch 1977: 95 percent as efficient as least squares on normal noise."""

MAD_TO_SD = 1.4826
LEAST_SPREAD = 1e-6
"""Codes are coarser than this; a smaller spread means a plain synthetic picture."""


@dataclass(frozen=True, slots=True)
class LightSurface:
    """Light as a polynomial of place: over powers of column and row about ``middle``, in ``reach``.

    ``spread`` is the standard deviation of the pixels about it, by their median.
    """

    terms: F64
    degree: int
    middle: F64
    reach: float
    spread: float

    def over(self, columns: F64, rows: F64) -> F32:
        """Return (len(rows), len(columns)) light on a grid of pixels."""
        x = (columns - self.middle[0]) / self.reach
        y = (rows - self.middle[1]) / self.reach
        terms = np.zeros((self.degree + 1, self.degree + 1), dtype=np.float32)
        for term, (i, j) in zip(self.terms, _powers(self.degree), strict=True):
            terms[j, i] = term
        orders = np.arange(self.degree + 1)
        along = (x ** orders[:, None]).astype(np.float32)
        return (y[:, None] ** orders).astype(np.float32) @ terms @ along


def fit_light(
    at_columns: npt.ArrayLike, at_rows: npt.ArrayLike, of_light: npt.ArrayLike, *, degree: int
) -> LightSurface:
    """Return the surface through light (n,) at pixels (n,), not led astray by specks, marks or print.

    The degree comes down where there are few pixels. Weights are Tukey's bisquare, by the median of what is left.
    """
    columns, rows, light = (np.asarray(a, dtype=np.float64) for a in (at_columns, at_rows, of_light))
    step = max(1, len(light) // MOST_SAMPLES)
    columns, rows, light = columns[::step], rows[::step], light[::step]
    while degree and len(light) < 10 * len(_powers(degree)):
        degree -= 1
    middle = np.array([columns.mean(), rows.mean()])
    reach = max(1.0, float(np.abs(columns - middle[0]).max()), float(np.abs(rows - middle[1]).max()))
    x, y = (columns - middle[0]) / reach, (rows - middle[1]) / reach
    basis = np.column_stack([x**i * y**j for i, j in _powers(degree)])
    terms: F64 = np.zeros(basis.shape[1])
    terms[0] = np.median(light)
    spread = 0.0
    for turn in range(ROUNDS + 1):
        off = light - basis @ terms
        spread = max(LEAST_SPREAD, MAD_TO_SD * float(np.median(np.abs(off))))
        if turn == ROUNDS:
            break
        # the first surface is level, so what the light's own slope adds must not count as astray
        reached = spread * BISQUARE * (3.0 if turn == 0 else 1.0)
        weight = np.clip(1.0 - (off / reached) ** 2, 0.0, None) ** 2
        # six columns over -1 to 1 are far from dependent, so the normal equations lose nothing
        weighted = basis * weight[:, None]
        terms[:] = np.linalg.lstsq(weighted.T @ basis, weighted.T @ light, rcond=None)[0]
    return LightSurface(terms, degree, middle, reach, spread)


def _powers(degree: int) -> list[tuple[int, int]]:
    return [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
