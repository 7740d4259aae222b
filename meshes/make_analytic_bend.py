"""What does a round bend look like whose volume is known in closed form?

A bore of 40 mm runs square from the face y = 0, turns 90 degrees down towards -z about an axis 60 mm below
its middle, and is closed flat at both ends. By Pappus its volume is

    V = pi 20^2 x 60 pi/2 = 12000 pi^2 = 118 435.25 mm3,

and without its ends it is 40 pi x 60 pi/2 = 1200 pi^2 = 11 843.53 mm2. The mesh has POINTS corners round and
RINGS rings; its walls are flat trapezoids, so its own volume is known in closed form too: it is smaller by
the two factors sin(x)/x with x = 2 pi / POINTS and x = (pi/2) / (RINGS - 1).

    python meshes/make_analytic_bend.py [file]
"""

from __future__ import annotations

import sys
from math import pi
from pathlib import Path

import numpy as np
from ring_mesh import closed_tube, write_ply

FILE = Path(__file__).with_name("analytic-bend.ply")

BORE_MM = 40.0
BEND_MM = 60.0
POINTS = 96
RINGS = 46


def main(file: Path) -> None:
    """Write the bend."""
    turned = np.linspace(0.0, 0.5 * pi, RINGS)[:, None]
    round_it = np.linspace(0.0, 2.0 * pi, POINTS, endpoint=False)
    across, up = 0.5 * BORE_MM * np.cos(round_it), 0.5 * BORE_MM * np.sin(round_it)
    reach = BEND_MM + up
    rings = np.stack(np.broadcast_arrays(across, reach * np.sin(turned), reach * np.cos(turned) - BEND_MM), axis=-1)
    points, triangles = closed_tube(rings)
    write_ply(file, points, triangles, comment="round bend, bore 40 mm, radius 60 mm, 90 degrees")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FILE)
