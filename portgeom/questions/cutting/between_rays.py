"""What does a cut look like between the rays of a chart?

A groove is a few rays wide and its bottom is round, so a section drawn from ray to ray misses it by percents.
A port under the cutter is therefore followed along more rays, laid evenly between those of its chart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.moments import Moments, closed_moments

PER_RAY = 4
"""Rays for each of the chart's: a circular bottom is then drawn to a sixteenth of the error."""


@dataclass(frozen=True, slots=True)
class FineRays:
    """The rays of a chart, each followed by more before the next.

    Attributes
    ----------
    chart : Chart
    foot, direction : (n * PER_RAY,), (n * PER_RAY, 2) float
        As of ``Rays``; every PER_RAY-th is one of the chart's.
    """

    chart: Chart
    foot: F64
    direction: F64

    @classmethod
    def between(cls, chart: Chart) -> Self:
        """Return the rays of a chart with others at even steps of foot and heading between them."""
        rays = chart.rays
        heading = np.unwrap(np.arctan2(rays.direction[:, 1], rays.direction[:, 0]))
        heading = np.append(heading, heading[0] + 2.0 * np.pi)
        foot = np.append(rays.foot, rays.foot[0])
        at = np.arange(rays.total * PER_RAY) / PER_RAY
        whole = np.arange(rays.total + 1.0)
        turned = np.interp(at, whole, heading)
        direction = np.column_stack([np.cos(turned), np.sin(turned)])
        direction[::PER_RAY] = rays.direction
        return cls(chart, frozen(np.interp(at, whole, foot)), frozen(direction))

    def chords_mm(self, rho_mm: F64, slabs: Int | None = None) -> F64:
        """Return how far along all rays (m, n * PER_RAY) the straight lines between tips at distances (m, n) lie.

        ``slabs`` (m,) are those of the distances; without it there is one row for every slab.
        """
        half, rays = (
            self.chart.half_mm[:, None] if slabs is None else self.chart.half_mm[slabs, None],
            self.chart.rays,
        )
        start_u, start_v = half * rays.foot + rho_mm * rays.direction[:, 0], rho_mm * rays.direction[:, 1]
        edge_u, edge_v = (np.roll(x, -1, axis=1) - x for x in (start_u, start_v))
        across = start_u * edge_v - start_v * edge_u
        fine = np.empty((*rho_mm.shape, PER_RAY))
        fine[..., 0] = rho_mm
        for k in range(1, PER_RAY):
            ahead_u, ahead_v = self.direction[k::PER_RAY].T
            foot = half * self.foot[k::PER_RAY]
            fine[..., k] = (across - foot * edge_v) / (ahead_u * edge_v - ahead_v * edge_u)
        return fine.reshape(len(rho_mm), len(self.foot))

    def moments(self, fine_mm: F64, slabs: Int) -> Moments:
        """Return the moments (k,) of the sections of slabs (k,) at distances (k, n * PER_RAY) along all rays."""
        centre, half = self.chart.centre_mm[slabs], self.chart.half_mm[slabs, None]
        round_it = np.empty((len(fine_mm), 2, len(self.foot) + 1))
        round_it[:, 0, :-1] = half * self.foot + fine_mm * self.direction[:, 0]
        round_it[:, 1, :-1] = fine_mm * self.direction[:, 1]
        round_it[..., -1] = round_it[..., 0]
        return closed_moments(round_it, centre)


def of_chart(fine_mm: F64) -> F64:
    """Return the distances (m, n) along the chart's own rays."""
    return fine_mm[:, ::PER_RAY]
