"""From where is a port looked at, and where does a place in the head fall in the picture?

Pictures are orthographic: equal lengths at equal angles stay equal, near or far.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias, get_args

import numpy as np

from portgeom.geometry.arrays import F64, frozen

ViewName: TypeAlias = Literal["roof", "left", "entry", "side", "seat"]
VIEW_NAMES: tuple[str, ...] = get_args(ViewName)


@dataclass(frozen=True, slots=True)
class View:
    """A way of looking at a port.

    Attributes
    ----------
    words : str
        Where the person stands.
    toward : (3,) float
        From the port to the person, in the head frame.
    up : (3,) float
        What is up in the picture, roughly.
    """

    words: str
    toward: tuple[float, float, float]
    up: tuple[float, float, float]

    def axes(self) -> F64:
        """Return (3, 3): right and up in the picture and out of it, as rows, unit vectors."""
        return _axes(self.toward, self.up)

    def project(self, points_mm: F64) -> F64:
        """Return points (..., 3) as right, up and towards the person, in mm.

        Examples
        --------
        >>> VIEWS["side"].project(np.array([0.0, 7.0, 2.0])).tolist()
        [7.0, 2.0, 0.0]
        """
        return points_mm @ self.axes().T + 0.0


@lru_cache(maxsize=64)
def _axes(toward: tuple[float, float, float], up: tuple[float, float, float]) -> F64:
    out = np.array(toward) / np.linalg.norm(toward)
    right = np.cross(up, out)
    right /= np.linalg.norm(right)
    return frozen(np.stack([right, np.cross(out, right), out]))


def turned(view: View, degrees: float) -> View:
    """Return a view from a place further round the port, anticlockwise from above."""
    a = np.radians(degrees)
    x, y, z = view.toward
    toward = (float(x * np.cos(a) - y * np.sin(a)), float(x * np.sin(a) + y * np.cos(a)), z)
    return View(f"turned {degrees:.0f} degrees", toward, view.up)


VIEWS: dict[ViewName, View] = {
    "roof": View("from above and the right, manifold face at the left", (0.62, -0.34, 0.70), (0.0, 0.0, 1.0)),
    "left": View("from above and the left, manifold face at the right", (-0.62, -0.34, 0.70), (0.0, 0.0, 1.0)),
    "entry": View("looking in from the manifold face, deck down", (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    "side": View("from the right side, manifold face at the left, deck down", (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "seat": View("from the chamber, left and right swapped", (-0.25, 0.15, -1.0), (0.0, 1.0, 0.0)),
}
