"""How is the grain taken out of a traced edge without moving it further than is said?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen

FINE_MM = 0.05
SPACING_MM = 0.25
SIGMAS_MM = (0.2, 0.1, 0.05)
"""Of the averaging along the edge, the strongest first."""

MOST_MOVED_MM = 0.05
MOST_POINTS = 8000

BESIDE = 8
"""How many pieces to either side a point may lie from where its share of the length says: smoothing shortens."""

SMALLEST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Smoothed:
    """An edge at even steps, and the furthest that any point of the traced one lies from it."""

    points_mm: F64
    moved_mm: float


def smoothed(points_mm: F64) -> Smoothed:
    """Return a closed edge (n, 2) smoothed along its length, so that nothing moved over ``MOST_MOVED_MM``.

    The strongest smoothing that keeps to it is taken; where none does, as at a burr, the edge is kept as traced
    and only its points are spaced evenly.
    """
    fine = evenly(points_mm, FINE_MM)
    every = max(1, round(SPACING_MM / FINE_MM))
    for sigma in SIGMAS_MM:
        points = _gaussian(fine, sigma)[::every]
        moved = _furthest(points_mm, points)
        if moved <= MOST_MOVED_MM:
            return Smoothed(frozen(points), moved)
    return Smoothed(frozen(fine), _furthest(points_mm, fine))


def evenly(points_mm: F64, spacing_mm: float) -> F64:
    """Return points at even steps of about ``spacing_mm`` round a closed curve (n, 2), from its first point."""
    closed = np.vstack([points_mm, points_mm[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = int(np.clip(round(along[-1] / spacing_mm), 16, MOST_POINTS))
    at = np.linspace(0.0, along[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, k]) for k in (0, 1)])


def _gaussian(fine: F64, sigma_mm: float) -> F64:
    """Return closed points (n, 2) averaged along the curve.

    A plain average with a Gaussian g would draw a round wall of radius R inwards by sigma2 / (2 R). Averaging what
    that left over once more and putting it back, 2 g - g g, leaves only the fourth power of sigma / R.
    """
    step = float(np.hypot(*(fine - np.roll(fine, 1, axis=0)).T).mean())
    per_point = 2.0 * np.pi * np.fft.rfftfreq(len(fine))
    damped = 1.0 - (1.0 - np.exp(-0.5 * (per_point * sigma_mm / step) ** 2)) ** 2
    return np.fft.irfft(np.fft.rfft(fine, axis=0) * damped[:, None], n=len(fine), axis=0)


def _furthest(points_mm: F64, ring_mm: F64) -> float:
    """Return how far the furthest point (n, 2) lies from a ring (m, 2) that runs round beside the points.

    Each is held against the ring's pieces about as far along, so it is never less than the true distance.
    """
    step = np.hypot(*(np.roll(points_mm, -1, axis=0) - points_mm).T)
    share = (np.cumsum(step) - step) / step.sum()
    beside = np.floor(share * len(ring_mm)).astype(np.intp)
    nearest = np.full(len(points_mm), np.inf)
    for k in range(-BESIDE, BESIDE + 1):
        a = ring_mm[(beside + k) % len(ring_mm)]
        b = ring_mm[(beside + k + 1) % len(ring_mm)]
        way, away = b - a, points_mm - a
        along = (away * way).sum(axis=1) / np.maximum((way * way).sum(axis=1), SMALLEST_MM**2)
        off = away - np.clip(along, 0.0, 1.0)[:, None] * way
        nearest = np.minimum(nearest, np.hypot(off[:, 0], off[:, 1]))
    return float(nearest.max())
