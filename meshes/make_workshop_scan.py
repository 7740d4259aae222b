"""What would a scanner bring back from a mould of the example's port 2?

The surface is that of ``examples/workshop-pair`` port 2 as cast, lofted by portgeom itself and sampled where a
scanner might see it: close together over the boss, wide apart elsewhere, no two points in one section plane.
Each point is moved along the surface's normal by a normal error of NOISE_MM and given to a micron. Both ends
are open and ragged, and there are HOLES where the scanner saw nothing. The frame is the job's own head frame.

    python meshes/make_workshop_scan.py [file]
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from ring_mesh import F64, Int, write_ply

from portgeom.geometry.chart import Resolution
from portgeom.geometry.surface import Surface
from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job

FILE = Path(__file__).with_name("workshop-scan.ply")
JOB = Path(__file__).parents[1] / "examples" / "workshop-pair"

RESOLUTION = Resolution(slab_mm=0.5, rays=256)
"""Held here, so that another default does not make another scan."""

NOISE_MM = 0.05
STEP_MM = 0.001
SEED = 1907
BOSS_MM = (25.0, 59.0)
FINE, COARSE = (1.1, 112), (2.6, 60)
"""Step along the port in mm, and points once round it: over the boss, and elsewhere."""

HOLES = ((14.0, 0.70, 4.0, 0.030), (52.0, 0.02, 2.5, 0.020), (71.0, 0.27, 5.0, 0.035), (101.0, 0.76, 4.5, 0.04))
"""Where nothing was seen: distance in mm and share of the way round, and half sizes of each."""


@dataclass(frozen=True, slots=True)
class Samples:
    """Points of the surface: where they are, which way is out, and their place on it.

    ``points_mm`` and ``outward`` are (k, 3); ``place`` (k, 2) is distance in mm and share of the way round,
    anticlockwise looking in; ``row`` (k,) numbers the rings they were taken in.
    """

    points_mm: F64
    outward: F64
    place: F64
    row: Int


def sample(surface: Surface, random: np.random.RandomState) -> Samples:
    """Return points on the surface, ring after ring, none of them quite where the pattern has it."""
    distance = surface.chart.distance_mm
    grid = surface.chart.planes.world_mm(surface.points_mm)
    grid = np.concatenate([grid, grid[:, :1]], axis=1)
    share = np.zeros(grid.shape[:2])
    share[:, 1:] = np.cumsum(np.linalg.norm(np.diff(grid, axis=1), axis=2), axis=1)
    share /= share[:, -1:]
    outward = np.cross(np.gradient(grid, axis=1), np.gradient(grid, distance, axis=0))
    outward /= np.linalg.norm(outward, axis=2, keepdims=True)
    places, rows = [], []
    for row, (at, step, count) in enumerate(_rings(float(distance[-1]))):
        along = at + step * random.uniform(-0.3, 0.3, count)
        round_it = (np.arange(count) + random.uniform(0.2, 0.8, count)) / count
        places.append(np.column_stack([along, round_it]))
        rows.append(np.full(count, row))
    place = np.concatenate(places)
    points = _on_grid(grid, distance, share, place)
    normal = _on_grid(outward, distance, share, place)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    return Samples(points, normal, place, np.concatenate(rows))


def _rings(length: float) -> list[tuple[float, float, int]]:
    """Return distance, step and number of points of every ring."""
    rings, at = [], 1.0
    while at < length - 1.0:
        step, count = FINE if BOSS_MM[0] <= at < BOSS_MM[1] else COARSE
        rings.append((at, step, count))
        at += step
    return rings


def _on_grid(values: F64, distance: F64, share: F64, place: F64) -> F64:
    """Return values (m, n, 3) between the four points of the grid around each place (k, 2)."""
    i = np.clip(np.searchsorted(distance, place[:, 0], side="right") - 1, 0, len(distance) - 2)
    w = ((place[:, 0] - distance[i]) / (distance[i + 1] - distance[i]))[:, None]
    return (1.0 - w) * _on_rings(values, share, i, place[:, 1]) + w * _on_rings(values, share, i + 1, place[:, 1])


def _on_rings(values: F64, share: F64, ring: Int, at: F64) -> F64:
    found = np.empty((len(at), 3))
    for k in np.unique(ring):
        here = ring == k
        for axis in range(3):
            found[here, axis] = np.interp(at[here], share[k], values[k, :, axis])
    return found


def stitch(samples: Samples) -> Int:
    """Return triangles (t, 3) between neighbouring rings, normals outwards."""
    triangles: list[tuple[int, int, int]] = []
    start = np.searchsorted(samples.row, np.arange(samples.row[-1] + 2))
    for a, b, c in zip(start[:-2], start[1:-1], start[2:], strict=True):
        near, far = samples.place[a:b, 1], samples.place[b:c, 1]
        i = j = 0
        while i < len(near) or j < len(far):
            here, there = a + i % len(near), b + j % len(far)
            # whichever ring is behind takes the next step round
            if j == len(far) or (i < len(near) and _next(near, i) <= _next(far, j)):
                triangles.append((here, there, a + (i + 1) % len(near)))
                i += 1
            else:
                triangles.append((here, there, b + (j + 1) % len(far)))
                j += 1
    return np.array(triangles)


def _next(share: F64, i: int) -> float:
    """Return how far round the point after the i-th is, past 1 once round."""
    return float(share[(i + 1) % len(share)]) + (1.0 if i + 1 >= len(share) else 0.0)


def unseen(samples: Samples, triangles: Int) -> npt.NDArray[np.bool_]:
    """Return (t,), whether a triangle touches a hole."""
    hidden = np.zeros(len(samples.place), dtype=bool)
    for at, round_it, half_length, half_share in HOLES:
        off = (samples.place[:, 1] - round_it + 0.5) % 1.0 - 0.5
        hidden |= ((samples.place[:, 0] - at) / half_length) ** 2 + (off / half_share) ** 2 < 1.0
    touched: npt.NDArray[np.bool_] = hidden[triangles].any(axis=1)
    return touched


def main(file: Path) -> None:
    """Write the scan."""
    # RandomState, because numpy promises never to change what it draws
    random = np.random.RandomState(SEED)
    samples = sample(cast_surface(), random)
    noise = NOISE_MM * random.standard_normal(len(samples.row))
    points = samples.points_mm + noise[:, None] * samples.outward
    points = STEP_MM * np.round(points / STEP_MM)
    triangles = stitch(samples)
    triangles = triangles[~unseen(samples, triangles)]
    used, numbered = np.unique(triangles, return_inverse=True)
    write_ply(
        file,
        points[used],
        numbered.reshape(-1, 3),
        comment="simulated scan of a mould of port 2, noise 0.05 mm, head frame, mm",
    )


def cast_surface() -> Surface:
    """Return port 2 of the example as it was cast."""
    lofted = loft_job(read_job(JOB), resolution=RESOLUTION)
    ports = {port.port.name: port for port in lofted}
    return ports["2"].cast.surface


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FILE)
