"""How is a smooth curve drawn as points close enough to it, and how large is it?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64, frozen

At: TypeAlias = Callable[[F64], F64]
"""Places (n, k) of a curve at parameters (n,)."""

COARSE_STEPS = 4
"""Steps a span is begun with; fewer could step over an S in it."""

MOST_PLACES = 1 << 17
"""Places a curve is given up at."""


class CurveError(ValueError):
    """A curve that cannot be drawn: not finite, or wilder than any wall."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve by its parameter: smooth between breaks, a corner allowed at each.

    Attributes
    ----------
    at : At
    breaks : (m,) float
        Rising; the curve runs from the first to the last.
    bends : bool
        Whether it bends between breaks; where it does not, the breaks draw it.
    """

    at: At
    breaks: F64
    bends: bool = True

    def coarse(self) -> F64:
        """Return points (n, k) that show how large the curve is and where, if not how it bends."""
        return _places(self, COARSE_STEPS if self.bends else 1)

    def points(self, within: float) -> F64:
        """Return points (n, k) whose chords stay within a distance of the curve, both ends included.

        Notes
        -----
        Steps are halved until the middle of every step lies within four times the distance of its chord; the
        chords of the half steps, which are returned, then lie within it, for a chord's sag falls by four.

        Raises
        ------
        CurveError
            Where points are not finite, or halving does not help.
        """
        steps = COARSE_STEPS
        while self.bends:
            fine = _places(self, 2 * steps)
            if not np.isfinite(fine).all():
                raise CurveError("has places that are not finite numbers")
            sag = np.linalg.norm(fine[1::2] - 0.5 * (fine[:-1:2] + fine[2::2]), axis=1).max()
            if sag <= 4.0 * within:
                return fine
            steps *= 2
            if steps * len(self.breaks) > MOST_PLACES:
                raise CurveError("bends more wildly than can be followed")
        return _places(self, 1)


def _places(curve: Curve, steps: int) -> F64:
    start, end = curve.breaks[:-1, None], curve.breaks[1:, None]
    t = start + (end - start) * (np.arange(steps) / steps)
    return curve.at(np.append(t.ravel(), curve.breaks[-1]))


def straight(corners: npt.ArrayLike) -> Curve:
    """Return the line through corners (n, k)."""
    points = frozen(corners)

    def at(t: F64) -> F64:
        left = np.clip(t.astype(np.intp), 0, len(points) - 2)
        w = (t - left)[:, None]
        return (1.0 - w) * points[left] + w * points[left + 1]

    return Curve(at, frozen(np.arange(len(points))), bends=False)


def elliptic_arc(
    centre: npt.ArrayLike, first: npt.ArrayLike, second: npt.ArrayLike, start_rad: float, sweep_rad: float
) -> Curve:
    """Return the arc centre + first cos t + second sin t, t from ``start_rad`` on by ``sweep_rad``."""
    c, p, q = frozen(centre), frozen(first), frozen(second)

    def at(t: F64) -> F64:
        return c + np.cos(t)[:, None] * p + np.sin(t)[:, None] * q

    # by quarters, so that a whole turn is not begun with a handful of points
    quarters = max(1, int(np.ceil(abs(sweep_rad) / (0.5 * np.pi))))
    if sweep_rad < 0.0:
        return Curve(lambda t: at(-t), frozen(np.linspace(-start_rad, -start_rad - sweep_rad, quarters + 1)))
    return Curve(at, frozen(np.linspace(start_rad, start_rad + sweep_rad, quarters + 1)))


def bezier(control: npt.ArrayLike) -> Curve:
    """Return the Bezier curve of control points (n, k), by de Casteljau's rule."""
    points = frozen(control)

    def at(t: F64) -> F64:
        w = t[:, None, None]
        level = np.broadcast_to(points, (len(t), *points.shape))
        while level.shape[1] > 1:
            level = (1.0 - w) * level[:, :-1] + w * level[:, 1:]
        return level[:, 0]

    return Curve(at, frozen([0.0, 1.0]))
