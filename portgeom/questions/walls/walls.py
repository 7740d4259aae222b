"""How much metal is left between a port's walls and what is behind them, and is it enough?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, frozen
from portgeom.geometry.inside import inside_passage
from portgeom.geometry.near import Near, Places, Spot, area_below_mm2, near, nearest_spot, places_of
from portgeom.geometry.surface import Surface
from portgeom.model.lofted import LoftedPort
from portgeom.questions.shape.places import clock_deg
from portgeom.questions.walls.behind import Behind

Verdict: TypeAlias = Literal["enough", "thin", "open", "not known"]

WANDER_MM = 1.0
"""How far a hand-held cutter may wander: walls are known at least so far beyond the limit."""

MAP_TO_MM = 15.0
"""How thick a wall a picture still tells apart."""

CUT_MM = 0.05
"""A place counts as cut from here: below it the tool would only have polished."""


KEPT_WITHIN_MM = 0.02
"""A pass that stops for a wall keeps its limit to within this: a wall that is so much short is at its limit."""


@dataclass(frozen=True, slots=True)
class WallAt:
    """A wall and where it is. ``reading_away_mm`` says how far the nearest reading is, NaN without readings."""

    distance_mm: float
    clock_deg: float
    wall_mm: float
    reading_away_mm: float = float("nan")


@dataclass(frozen=True, slots=True)
class Stretch:
    """From where to where along the path."""

    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class ThreadLeft:
    """What is left of a hole's thread: its length unbroken from the start, and the least wall to it."""

    length_mm: float
    left_mm: float
    wall_mm: float


@dataclass(frozen=True, slots=True)
class Wall:
    """The metal between one surface and one hazard.

    Attributes
    ----------
    behind : Behind
    state : str
        A stage's name, "target", or "after " and a pass's name.
    least : WallAt or None
        None where readings say nothing of this port. Negative where the hazard is opened: how far.
    thin_area_mm2 : float
        Of the surface itself, where less than the limit is left, opened area included; NaN without a limit.
    open_area_mm2 : float
        Where nothing is left; NaN where the hazard has no inside.
    opened : Stretch or None
        Where along the path it is open.
    inside : bool
        Whether it lies in the passage without the surface meeting it: most likely a wrong place in the job.
    unknown : bool
        Whether metal was cut where no reading is near.
    thread : ThreadLeft or None
    verdict : Verdict
    """

    behind: Behind
    state: str
    least: WallAt | None
    thin_area_mm2: float
    open_area_mm2: float
    opened: Stretch | None
    inside: bool
    unknown: bool
    thread: ThreadLeft | None
    verdict: Verdict

    @property
    def hazard(self) -> str:
        """Return the hazard's name."""
        return self.behind.hazard.name

    @property
    def alarms(self) -> bool:
        """Return whether it is thin or open without the job's leave."""
        return self.verdict in ("thin", "open") and not self.behind.hazard.open_allowed


@dataclass(frozen=True, slots=True)
class Walls:
    """The metal behind one surface.

    Attributes
    ----------
    state : str
    surface : Surface
    walls : tuple of Wall
        One for each hazard, in the job's order.
    found : tuple of Near
        Distances behind them, to be used again for the next surface.
    """

    state: str
    surface: Surface
    walls: tuple[Wall, ...]
    found: tuple[Near, ...]

    @property
    def least(self) -> Wall | None:
        """Return the wall with the least metal, None where none is known."""
        known = [w for w in self.walls if w.least is not None]
        return min(known, key=lambda w: w.least.wall_mm if w.least else np.inf, default=None)


@dataclass(frozen=True, slots=True)
class WallMap:
    """Least wall (m, n) at every slab and ray, infinite beyond ``to_mm``, NaN where not known.

    ``nearest`` (m, n) is which hazard it is to, -1 where none is that near.
    """

    wall_mm: F64
    nearest: Int
    to_mm: float


def walls(
    port: LoftedPort,
    surface: Surface,
    state: str,
    hazards: Sequence[Behind],
    *,
    earlier: Walls | None = None,
) -> Walls:
    """Return the metal between a surface on the port's chart and every hazard.

    Parameters
    ----------
    state : str
        What the surface is: a stage's name, "target", or "after " and a pass's name.
    hazards : sequence of Behind
        From ``behind``.
    earlier : Walls or None
        The answer for an earlier surface and the same hazards: only what has moved since is asked again.

    Notes
    -----
    The surface is taken as flat from place to place of its grid. Least walls are then exact to 0.005 mm;
    areas to a sixty-fourth of the cells along their edges.
    """
    if not hazards:
        return Walls(state, surface, (), ())
    places = places_of(surface)
    moved = None
    if earlier is not None:
        moved = np.abs(surface.rho_mm - earlier.surface.rho_mm) > surface.chart.tolerance.length_mm
    results, found = [], []
    for k, hazard in enumerate(hazards):
        before = None if earlier is None else earlier.found[k]
        if hazard.readings is not None:
            wall, distances = _from_readings(places, state, hazard)
        else:
            within = max(hazard.stop_mm, hazard.floor_mm) + WANDER_MM
            distances = near(places, hazard.wall_mm, within, at_least=hazard.at_least_mm, earlier=before, moved=moved)
            if earlier is not None and before is not None and np.array_equal(distances.distance_mm, before.distance_mm):
                wall = replace(earlier.walls[k], state=state)
            else:
                wall = _from_distances(places, state, hazard, distances)
        results.append(wall)
        found.append(distances)
    return Walls(state, surface, tuple(results), tuple(found))


def wall_map(surface: Surface, hazards: Sequence[Behind], *, to_mm: float = MAP_TO_MM) -> WallMap:
    """Return the least wall all over a surface, for pictures."""
    places = places_of(surface)
    least = np.full(surface.rho_mm.shape, np.inf)
    nearest = np.full(surface.rho_mm.shape, -1, dtype=np.intp)
    unknown = np.zeros(surface.rho_mm.shape, dtype=bool)
    for k, hazard in enumerate(hazards):
        if hazard.readings is not None:
            wall = read_wall_mm(places, hazard)
            unknown |= np.isnan(wall)
            wall = np.where(np.isnan(wall), np.inf, wall)
        else:
            wall = near(places, hazard.wall_mm, to_mm, at_least=hazard.at_least_mm).distance_mm
        nearer = (wall < least) & (wall <= to_mm)
        least, nearest = np.where(nearer, wall, least), np.where(nearer, k, nearest)
    return WallMap(frozen(np.where(unknown & np.isinf(least), np.nan, least)), nearest, to_mm)


def _from_distances(places: Places, state: str, hazard: Behind, found: Near) -> Wall:
    surface = places.surface
    spot = nearest_spot(places, hazard.wall_mm, found)
    least = _wall_at(surface, spot)
    open_area = area_below_mm2(places, found, 0.0) if hazard.signed else np.nan
    inside = False
    if least.wall_mm > 0.0 and len(hazard.samples_mm):
        inside = bool(inside_passage(surface, hazard.samples_mm).any())
        if inside:  # all of it is on the passage's side of the wall
            least = replace(least, wall_mm=-least.wall_mm)
    return Wall(
        behind=hazard,
        state=state,
        least=least,
        thin_area_mm2=_thin_area_mm2(places, hazard, found),
        open_area_mm2=open_area,
        opened=_stretch(surface, found.distance_mm <= 0.0),
        inside=inside,
        unknown=False,
        thread=_thread_left(places, hazard, found),
        verdict=_verdict(least.wall_mm, hazard.limit_mm, unknown=False),
    )


def _thin_area_mm2(places: Places, hazard: Behind, found: Near) -> float:
    return np.nan if hazard.limit_mm is None else area_below_mm2(places, found, hazard.limit_mm)


def _verdict(least_mm: float, limit: float | None, *, unknown: bool) -> Verdict:
    if least_mm <= 0.0:
        return "open"
    if limit is None:
        return "not known"
    if least_mm < limit - KEPT_WITHIN_MM:
        return "thin"
    return "not known" if unknown else "enough"


def _wall_at(surface: Surface, spot: Spot) -> WallAt:
    """Return path distance and clock position of a place between slabs and rays."""
    chart = surface.chart
    slabs, rays = surface.rho_mm.shape
    j = min(int(spot.slab), slabs - 2)
    k = int(spot.ray) % rays
    a, b = spot.slab - j, spot.ray - int(spot.ray)
    beside = slice(j, j + 2)
    centre = chart.centre_mm[beside]
    points = chart.rays.tips_mm(centre, chart.half_mm[beside], surface.rho_mm[beside])
    place = (1.0 - b) * points[:, k] + b * points[:, (k + 1) % rays]
    place, middle = ((1.0 - a) * x[0] + a * x[1] for x in (place, centre))
    distance = (1.0 - a) * chart.distance_mm[j] + a * chart.distance_mm[j + 1]
    return WallAt(float(distance), clock_deg(place, middle), spot.distance_mm)


def _stretch(surface: Surface, chosen: Bool) -> Stretch | None:
    slabs = np.flatnonzero(chosen.any(axis=1))
    if len(slabs) == 0:
        return None
    s = surface.chart.distance_mm
    return Stretch(float(s[slabs[0]]), float(s[slabs[-1]]))


def _thread_left(places: Places, hazard: Behind, found: Near) -> ThreadLeft | None:
    """Return what is left of the thread: up to the first place, from its start, where it is broken into."""
    thread = hazard.thread
    if thread is None:
        return None
    # the thread lies within the hole, so no place is nearer to it than to the hole
    around = found.distance_mm <= found.asked_to_mm
    nodes = places.nodes_mm[around]
    distance = thread.distance(nodes)
    broken = nodes[distance <= 0.0]
    left = thread.length_mm
    if len(broken):
        left = float(np.clip(((broken - thread.start_mm) @ thread.axis).min(), 0.0, left))
    return ThreadLeft(thread.length_mm, left, float(distance.min()))


def read_wall_mm(places: Places, hazard: Behind) -> F64:
    """Return the wall (m, n) that readings tell at every place of a surface, NaN where they tell nothing."""
    read = hazard.readings
    assert read is not None
    return read.thick_mm - read.depth_mm(places.nodes_mm) - hazard.hazard.casting_tolerance_mm


def _from_readings(places: Places, state: str, hazard: Behind) -> tuple[Wall, Near]:
    read = hazard.readings
    assert read is not None
    wall = read_wall_mm(places, hazard)
    known = np.where(np.isnan(wall), np.inf, wall)
    found = Near(frozen(known), np.inf)
    unknown = bool((np.isnan(wall) & (read.depth_mm(places.nodes_mm) > CUT_MM)).any())
    least: WallAt | None = None
    verdict: Verdict = "not known"
    if np.isfinite(known).any():
        slab, ray = np.unravel_index(int(np.argmin(known)), known.shape)
        at = _wall_at(places.surface, Spot(float(slab), float(ray), float(known[slab, ray])))
        least = replace(at, reading_away_mm=float(read.away_mm[slab, ray]))
        verdict = _verdict(least.wall_mm, hazard.limit_mm, unknown=unknown)
    result = Wall(
        behind=hazard,
        state=state,
        least=least,
        thin_area_mm2=_thin_area_mm2(places, hazard, found),
        open_area_mm2=area_below_mm2(places, found, 0.0),
        opened=_stretch(places.surface, known <= 0.0),
        inside=False,
        unknown=unknown,
        thread=None,
        verdict=verdict,
    )
    return result, found
