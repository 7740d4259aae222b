"""Outlines of what meets the ports of ``workshop-stages``: gasket, manifold flange, chamber. All invented.

The gasket is as traced looking in. The manifold's flange is as it comes off a flatbed scanner, which sees it from the
head: left and right swapped, and lying 1.7 degrees askew somewhere on the glass. The chamber is as seen from below.
"""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np

from portgeom.geometry.shapes import CornerRadii, obround, rectangle

BOLTS = np.array([[-31.0, 21.0], [31.0, 21.0], [31.0, -21.0], [-31.0, -21.0]])
"""Of either port, across and up from where its path starts."""

ASKEW_DEG = 1.7
ON_THE_GLASS = np.array([131.0, 84.0])

FLANGES = {"1": (0.3, -0.4, 42.6, 50.6), "2": (-0.5, -0.6, 42.6, 50.4)}
"""How far each runner's opening lies off its bolts, across and up, and its size."""


def gasket() -> np.ndarray:
    """Return the gasket's opening, a little high and narrow."""
    return rectangle(42.9, 51.2, CornerRadii(10.0, 10.0, 11.0, 11.0)).moved(0.0, 0.6).points_mm


def flange(name: str) -> np.ndarray:
    """Return a runner's opening as seen looking in, about its bolts."""
    across, up, wide, tall = FLANGES[name]
    return rectangle(wide, tall, CornerRadii(9.0, 9.0, 11.0, 11.0)).moved(across, up - 0.28).points_mm


def scanned(points: np.ndarray) -> np.ndarray:
    """Return places of the flange as the scanner sees them."""
    turn = radians(ASKEW_DEG)
    rotation = np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]])
    return (points * (-1.0, 1.0)) @ rotation + ON_THE_GLASS


def chamber() -> np.ndarray:
    """Return the chamber's wall at the deck, about the middle of the bore."""
    return obround(97.0, 62.0).points_mm


def files() -> dict[str, str]:
    """Return the text of every outline, by its path in the job folder."""
    # a mirror turns the order of points round; it is turned back, as a tracer would list them
    flanges = {f"face/manifold-{name}.csv": scanned(flange(name))[::-1] for name in FLANGES}
    made = {"face/gasket.csv": gasket(), **flanges, "face/chamber.csv": chamber()}
    return {name: "\n".join(["u,v", *(f"{u:.3f},{v:.3f}" for u, v in points)]) + "\n" for name, points in made.items()}


if __name__ == "__main__":
    # the holes of a flange, to write into job.toml
    print(np.round(scanned(BOLTS), 2).tolist())
