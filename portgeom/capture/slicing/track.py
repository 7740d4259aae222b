"""What smooth line runs through the middles of sections, and how do planes stand along it?

The line is a local cubic through neighbouring middles, which keeps circular bends as they are. The planes are
square to it, but turn away from that near an end whose own plane is given, and where they would cross inside the
passage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen

WINDOW, STIFF = 0.4, 1.2
"""Half width of the smoothing, in diameters of the passage, and of the first, which is to ignore bosses."""

SCALE, CUT_AT, LEAST_TRUST, ROBUST_ROUNDS = 0.002, 6.0, 1e-3, 6
"""Middles are trusted less the further they stray, in diameters or in median strays, whichever is more; at so many
times that hardly at all (the bisquare weights of W. S. Cleveland, J. Am. Stat. Assoc. 74 (1979) 829)."""

EASE = 1.0
"""Over how many diameters the planes turn from an end's own plane to square with the line."""

MOST_TURN = 0.85
"""How near to crossing planes may come: turn per mm times the reach of the section to the inside of the bend."""

LEAST_ADVANCE = 0.1
ROUNDS = 200

ALONG = 5
"""How many middles say how a leg runs where it leaves or reaches a fork."""


@dataclass(frozen=True, slots=True)
class Track:
    """A smooth line with a plane at each of its places.

    Attributes
    ----------
    distance_mm : (m,) float
        Along the line from its start.
    places_mm, tangents, normals : (m, 3) float
    """

    distance_mm: F64
    places_mm: F64
    tangents: F64
    normals: F64

    @property
    def length_mm(self) -> float:
        """Return the length of the line."""
        return float(self.distance_mm[-1])

    def places_at(self, distance_mm: F64) -> F64:
        """Return places (k, 3) on the line: cubics along its tangents."""
        s = self.distance_mm
        i = np.clip(np.searchsorted(s, distance_mm, side="right") - 1, 0, len(s) - 2)
        step = (s[i + 1] - s[i])[:, None]
        w = (distance_mm - s[i])[:, None] / step
        a, b = self.places_mm[i], self.places_mm[i + 1]
        leave, arrive = step * self.tangents[i], step * self.tangents[i + 1]
        rise = b - a
        return a + w * (leave + w * (3.0 * rise - 2.0 * leave - arrive + w * (leave + arrive - 2.0 * rise)))

    def normals_at(self, distance_mm: F64) -> F64:
        """Return normals (k, 3) of the planes at places on the line."""
        along = np.column_stack([np.interp(distance_mm, self.distance_mm, c) for c in self.normals.T])
        return along / np.linalg.norm(along, axis=1, keepdims=True)


@dataclass(frozen=True, slots=True)
class Ends:
    """The normals (3,) that the planes at both ends of a line keep, and the diameters of the sections there."""

    first: F64
    last: F64
    first_mm: float = 0.0
    last_mm: float = 0.0


def track_through(middles_mm: F64, diameter_mm: float, ends: Ends, *, count: int, stiff: bool = False) -> Track:
    """Return the smooth line past middles (k, 3), at ``count`` even places."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middles_mm, axis=0), axis=1))])
    even = np.linspace(0.0, run[-1], count)
    places, tangents = _local_cubics(
        run, middles_mm, even, (STIFF if stiff else WINDOW) * diameter_mm, SCALE * diameter_mm
    )
    distance = np.concatenate([[0.0], np.cumsum(_lengths(places, tangents))])
    normals = _eased(distance, tangents, ends, EASE * diameter_mm)
    return Track(frozen(distance), frozen(places), frozen(tangents), frozen(normals))


def smooth_line(places_mm: F64, directions: F64 | None, *, dense: int) -> Track:
    """Return the line through given places (k, 3), along given directions (k, 3) if there are any.

    Fewer than ``dense`` places are run through; more are smoothed over a twentieth of the line, since they come
    from a program and carry its steps.
    """
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(places_mm, axis=0), axis=1))])
    if directions is not None:
        places, tangents = places_mm, directions
    elif len(places_mm) >= dense:
        at = np.linspace(0.0, run[-1], max(dense, 120))
        places, tangents = _local_cubics(run, places_mm, at, run[-1] / 20.0)
    elif len(places_mm) == 2:
        places, tangents = places_mm, np.repeat(np.diff(places_mm, axis=0), 2, axis=0) / run[-1]
    else:
        from scipy.interpolate import CubicSpline

        curve = CubicSpline(run, places_mm, bc_type="not-a-knot" if len(run) > 3 else "natural")
        at = np.unique(np.concatenate([run, np.linspace(0.0, run[-1], 121)]))
        places, tangents = curve(at), curve(at, 1)
        tangents = tangents / np.linalg.norm(tangents, axis=1, keepdims=True)
    distance = np.concatenate([[0.0], np.cumsum(_lengths(places, tangents))])
    return Track(frozen(distance), frozen(places), frozen(tangents), frozen(tangents))


def over_forks(middles_mm: F64, leg: Int, step_mm: float) -> F64:
    """Return middles (k, 3) with a smooth way laid from each leg (k,) to the next, where none are known.

    The way leaves and arrives as the middles on both sides run.
    """
    parts: list[F64] = []
    for one in range(int(leg[-1]) + 1):
        own = middles_mm[leg == one]
        if parts and len(own) and len(parts[-1]):
            a, b = parts[-1][-1], own[0]
            leave, arrive = _running(parts[-1][-ALONG:]), _running(own[:ALONG])
            length = float(np.linalg.norm(b - a))
            w = np.linspace(0.0, 1.0, max(2, round(length / step_mm)) + 1)[1:-1, None]
            rise, leave, arrive = b - a, length * leave, length * arrive
            parts.append(a + w * (leave + w * (3.0 * rise - 2.0 * leave - arrive + w * (leave + arrive - 2.0 * rise))))
        parts.append(own)
    return np.concatenate(parts)


def _running(middles: F64) -> F64:
    """Return the unit direction in which middles (k, 3) run, by the straight line through them."""
    if len(middles) < 2:
        return np.zeros(3)
    way = np.polynomial.polynomial.polyfit(np.arange(len(middles)), middles, 1)[1]
    return np.asarray(way / np.linalg.norm(way), dtype=np.float64)


def spread_turn(track: Track, reach_mm: list[F64]) -> tuple[Track, bool]:
    """Return the line with planes that do not cross inside the passage, and whether any had to be turned.

    ``reach_mm`` are points (n, 3) of each place's section, from the line. Where planes cross, their turn is spread
    over more of the line; the planes at both ends stay.
    """
    normals = np.array(track.normals)
    turned = False
    step = np.diff(track.distance_mm)[:, None]
    way = np.diff(track.places_mm, axis=0) / step
    for _ in range(ROUNDS):
        turning = np.diff(normals, axis=0) / step
        # a plane that leans from the line advances less along its own normal than along the line
        advance = np.einsum("ij,ij->i", way, 0.5 * (normals[:-1] + normals[1:]))
        near = np.array(
            [
                max(float((points @ k).max(initial=0.0)) for points in (here, ahead)) / max(on, LEAST_ADVANCE)
                for here, ahead, k, on in zip(reach_mm[:-1], reach_mm[1:], turning, advance, strict=True)
            ]
        )
        if (near <= MOST_TURN).all():
            break
        turned = True
        smooth = normals.copy()
        smooth[1:-1] = 0.25 * normals[:-2] + 0.5 * normals[1:-1] + 0.25 * normals[2:]
        # only round where they cross, so that the rest of the port keeps its planes
        cross = np.concatenate([[False], near > MOST_TURN]) | np.concatenate([near > MOST_TURN, [False]])
        around = np.convolve(cross.astype(float), np.ones(5), mode="same") > 0.0
        normals[around] = smooth[around]
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return (Track(track.distance_mm, track.places_mm, track.tangents, frozen(normals)) if turned else track), turned


def _local_cubics(run: F64, middles: F64, at: F64, half: float, scale: float = np.inf) -> tuple[F64, F64]:
    """Return places and unit tangents (k, 3) of cubics fitted to the middles around each distance.

    Middles that stray from their neighbours' cubic by several times ``scale``, or of how far they stray at the
    median, count less and less, so that a boss or a jog does not bend the line.
    """
    places, tangents = np.empty((len(at), 3)), np.empty((len(at), 3))
    for k, s in enumerate(at):
        off = (run - s) / _half_width(run, float(s), half)
        near = np.abs(off) < 1.0
        weight = (1.0 - np.abs(off[near]) ** 3) ** 1.5
        order = min(3, int(near.sum()) - 1)
        terms = np.vander(off[near], order + 1, increasing=True)
        fit = _weighted(terms, middles[near], np.repeat(weight[:, None], 3, axis=1))
        if np.isfinite(scale):
            fit = _robust(terms, middles[near], weight, fit, scale)
        places[k], tangents[k] = fit[0], fit[1]
    return places, tangents / np.linalg.norm(tangents, axis=1, keepdims=True)


def _weighted(terms: F64, values: F64, weight: F64) -> F64:
    """Return the coefficients (k, c) of the fit to values (n, c), each column by its own weights (n, c)."""
    weighted = terms.T * (weight**2).T[:, None, :]
    normal, right = weighted @ terms, (weighted * values.T[:, None, :]).sum(axis=2)
    return np.linalg.solve(normal, right[..., None])[..., 0].T


def _robust(terms: F64, values: F64, weight: F64, fit: F64, scale: float) -> F64:
    """Return the fit with less and less trust in what strays, in each direction of straying by itself."""
    stray = (values - terms @ fit) * weight[:, None]
    _, axes = np.linalg.eigh(stray.T @ stray)
    along, fits = values @ axes, fit @ axes
    for _ in range(ROBUST_ROUNDS):
        off = np.abs(along - terms @ fits)
        most = CUT_AT * np.maximum(scale, np.median(off, axis=0))
        trust = np.maximum(1.0 - (off / most) ** 2, LEAST_TRUST)
        fits = _weighted(terms, along, weight[:, None] * trust)
    return fits @ axes.T


def _half_width(run: F64, s: float, half: float) -> float:
    """Return the half width that holds six middles at least."""
    away = np.sort(np.abs(run - s))
    return max(half, 1.01 * float(away[min(5, len(away) - 1)]))


def _lengths(places: F64, tangents: F64) -> F64:
    """Return the length between neighbouring places of a line that bends evenly between them."""
    chord = np.linalg.norm(np.diff(places, axis=0), axis=1)
    half = 0.5 * np.arccos(np.clip(np.einsum("ij,ij->i", tangents[:-1], tangents[1:]), -1.0, 1.0))
    return chord * np.divide(half, np.sin(half), out=np.ones_like(half), where=half > 0.0)


def _eased(distance: F64, tangents: F64, ends: Ends, over: float) -> F64:
    """Return the tangents turned towards the normals that the ends keep, less and less away from the ends."""
    length = float(distance[-1])
    over_first, over_last = (min(max(over, EASE * d), 0.5 * length) for d in (ends.first_mm, ends.last_mm))
    ahead = np.clip(1.0 - distance / over_first, 0.0, 1.0)[:, None]
    back = np.clip(1.0 - (length - distance) / over_last, 0.0, 1.0)[:, None]
    normals = tangents + ahead * (ends.first - tangents[0]) + back * (ends.last - tangents[-1])
    return normals / np.linalg.norm(normals, axis=1, keepdims=True)
