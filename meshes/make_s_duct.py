"""What does a published duct of S shape look like as a mesh?

The diffusing S-duct of Wellborn, Reichert and Okiishi, Study of the compressible flow in a diffusing S-duct,
Journal of Propulsion and Power, 1994, doi 10.2514/3.23778: circular sections square to a centre line of two
arcs in one plane, each of radius R = 1021 mm and 30 degrees, the second turning back. With t the angle run
through, 0 to 60 degrees, and x = t / 60,

    r / r1 = 1 + (r2 / r1 - 1) (3 x^2 - 2 x^3),    r1 = 102.1 mm, r2 = 125.7 mm.

The sections are square to the line and centred on it, so the volume is exactly the integral of pi r^2 along
it: with k = r2 / r1 - 1, and the integrals of 3 x^2 - 2 x^3 and of its square over 0..1 being 1/2 and 13/35,

    V = pi r1^2 R (pi / 3) (1 + k + 13/35 k^2) = 43 803 600 mm3.

The formula is written down from memory of the paper, and closes on what it prints: an area ratio of 1.52,
an offset of 1.34 inlet diameters along a line of 5.24.

The duct starts square from the face y = 0, dips towards -z and levels out again; it is closed flat at both
ends. RINGS sections of POINTS corners: one section every degree.

    python meshes/make_s_duct.py [file]
"""

from __future__ import annotations

import sys
from math import pi
from pathlib import Path

import numpy as np
import numpy.typing as npt
from ring_mesh import closed_tube, write_ply

FILE = Path(__file__).with_name("s-duct.ply")

BEND_MM = 1021.0
INLET_RADIUS_MM = 102.1
OUTLET_RADIUS_MM = 125.7
ARC = pi / 6.0
POINTS = 64
RINGS = 61


def radius_mm(share: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the radius of the section at shares 0 to 1 of the turning."""
    ratio = OUTLET_RADIUS_MM / INLET_RADIUS_MM
    return INLET_RADIUS_MM * (1.0 + (ratio - 1.0) * (3.0 * share**2 - 2.0 * share**3))


def main(file: Path) -> None:
    """Write the duct."""
    run = np.linspace(0.0, 2.0 * ARC, RINGS)
    pitch = np.minimum(run, 2.0 * ARC - run)
    first = run <= ARC
    middle_y, middle_z = BEND_MM * np.sin(ARC), -BEND_MM * (1.0 - np.cos(ARC))
    y = np.where(first, BEND_MM * np.sin(pitch), 2.0 * middle_y - BEND_MM * np.sin(pitch))
    z = np.where(first, -BEND_MM * (1.0 - np.cos(pitch)), 2.0 * middle_z + BEND_MM * (1.0 - np.cos(pitch)))
    round_it = np.linspace(0.0, 2.0 * pi, POINTS, endpoint=False)
    r = radius_mm(run / (2.0 * ARC))[:, None]
    up = r * np.sin(round_it)
    rings = np.stack(
        [
            r * np.cos(round_it),
            y[:, None] + up * np.sin(pitch)[:, None],
            z[:, None] + up * np.cos(pitch)[:, None],
        ],
        axis=-1,
    )
    points, triangles = closed_tube(rings)
    write_ply(file, points, triangles, comment="diffusing S-duct, Wellborn, Reichert and Okiishi 1994")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FILE)
