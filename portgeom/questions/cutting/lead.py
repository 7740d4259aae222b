"""How high may a cutter be led under a surface, so that it goes no deeper than it is set?

Everything is measured in the head frame, so that it holds in a bend, where planes fan out, and on a roof that
leans to its planes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.cutter import CutterBody
from portgeom.questions.cutting.side import Heights, SideAxes, axes_of

SLACK_MM = 0.005
"""How far a cutter may go too deep because its footprint is tried at points: a quarter of what a gauge shows."""

ROUGH_MM = 0.05
"""The same at a first look."""

ROUNDING_MM = 1e-6
"""A place this near to straight above is straight above: a ball sunk by just its radius touches only there."""

ALONG_BODY = 33
"""Places along a cutter's head at which its footprint is tried; as many again over its nose."""

LEAST_STRETCH = 0.05
"""Planes that nearly cross at the surface count as this far apart for 1 mm of path."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A side's surface in the head frame over slabs and even places along it; NaN where there is none.

    Attributes
    ----------
    distance_mm, along_mm : (m,), (k,) float
    places_mm : (3, m * k) float
    normals : (m, 3) float
        Of the planes.
    """

    distance_mm: F64
    along_mm: F64
    places_mm: F64
    normals: F64

    @classmethod
    def of(cls, chart: Chart, axes: SideAxes, along_mm: F64, height_mm: F64) -> Self:
        """Return the sheet of heights (m, k) over places (k,) along a side."""
        places = [
            chart.planes.origin_mm[:, i, None] + along_mm * axes.along[:, i, None] + height_mm * axes.up[:, i, None]
            for i in range(3)
        ]
        return cls(chart.distance_mm, along_mm, np.array(places).reshape(3, -1), chart.planes.normal)

    def seen(self, lead: Lead, ahead_mm: F64, across_mm: F64) -> F64:
        """Return how the surface lies from a lead's places: (3, K, P) ahead, across and up; NaN off the sheet.

        ``ahead_mm`` and ``across_mm`` (K, P) are about where; what is returned says where exactly.
        """
        cells = self._cells(lead, ahead_mm, across_mm)
        out = np.zeros((3, *ahead_mm.shape))
        for i, values in enumerate(self.places_mm):
            gap = cells.mixed(values) - lead.base_mm[:, i, None]
            for n, way in enumerate((lead.ahead, lead.across, lead.up)):
                out[n] += gap * way[:, i, None]
        return out

    def in_plane_share(self, lead: Lead, ahead_mm: F64) -> F64:
        """Return how much of the surface's normal lies in its section plane, at places (K, P) ahead; NaN off it."""
        normal = self._normals()
        share = np.sqrt(np.maximum(0.0, 1.0 - np.einsum("jki,ji->jk", normal, self.normals) ** 2))
        return self._cells(lead, ahead_mm, np.zeros(ahead_mm.shape)).mixed(share.ravel())

    def at_places(self, lead: Lead) -> Places:
        """Return the surface's places at a lead's, and which way it faces into the metal there."""
        nothing = np.zeros((len(lead.distance_mm), 1))
        cells, normal = self._cells(lead, nothing, nothing), self._normals()
        places = np.column_stack([cells.mixed(values) for values in self.places_mm])
        out = np.column_stack([cells.mixed(normal[..., i].ravel()) for i in range(3)])
        out *= np.sign(np.einsum("ki,ki->k", out, lead.up))[:, None]
        return Places(places, out / np.linalg.norm(out, axis=1, keepdims=True))

    def _normals(self) -> F64:
        """Return unit normals (m, k, 3), either way."""
        world = np.moveaxis(self.places_mm.reshape(3, len(self.distance_mm), len(self.along_mm)), 0, -1)
        normal = np.cross(np.gradient(world, axis=0), np.gradient(world, axis=1))
        unit: F64 = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
        return unit

    def _cells(self, lead: Lead, ahead_mm: F64, across_mm: F64) -> _Cells:
        slabs, columns = len(self.distance_mm), len(self.along_mm)
        path = lead.distance_mm[:, None] + ahead_mm / lead.stretch[:, None]
        slab = np.interp(path, self.distance_mm, np.arange(float(slabs)), left=np.nan, right=np.nan)
        column = (lead.along_mm[:, None] + across_mm - self.along_mm[0]) / (self.along_mm[1] - self.along_mm[0])
        column = np.where((column >= 0.0) & (column <= columns - 1.0), column, np.nan)
        j = np.minimum(np.nan_to_num(slab).astype(np.intp), slabs - 2)
        k = np.minimum(np.nan_to_num(column).astype(np.intp), columns - 2)
        f, g = slab - j, column - k
        at = j * columns + k
        return _Cells(
            (at, at + 1, at + columns, at + columns + 1),
            ((1.0 - f) * (1.0 - g), (1.0 - f) * g, f * (1.0 - g), f * g),
        )


@dataclass(frozen=True, slots=True)
class Places:
    """Places (K, 3) on a surface in the head frame, and unit vectors (K, 3) out of them into the metal."""

    places_mm: F64
    out: F64


@dataclass(frozen=True, slots=True)
class _Cells:
    """Between which four places of a sheet each point lies, and how much each counts."""

    corners: tuple[Int, Int, Int, Int]
    weights: tuple[F64, F64, F64, F64]

    def mixed(self, values: F64) -> F64:
        a, b, c, d = self.corners
        p, q, r, s = self.weights
        mixed: F64 = p * values[a] + q * values[b] + r * values[c] + s * values[d]
        return mixed


@dataclass(frozen=True, slots=True)
class Lead:
    """Places along the port at which a cutter's widest part is set.

    Attributes
    ----------
    distance_mm, along_mm : (K,) float
        Path distance, rising, and place along the side.
    base_mm : (K, 3) float
        In the head frame, at height nothing.
    ahead, across, up : (K, 3) float
        Unit vectors: the plane's normal, along the side, up.
    stretch : (K,) float
        How many mm ahead the surface runs for 1 mm of path.
    """

    distance_mm: F64
    along_mm: F64
    base_mm: F64
    ahead: F64
    across: F64
    up: F64
    stretch: F64

    @classmethod
    def laid(cls, chart: Chart, side: Heights, distance_mm: F64, along_mm: F64) -> Self:
        """Return the lead over places (K,) of a side, at distances that need not be slabs."""
        planes = chart.path.planes(distance_mm)
        axes = axes_of(planes.right, planes.up, side.side)
        row = side.at(np.interp(chart.distance_mm, distance_mm, along_mm))
        height = np.nan_to_num(np.interp(distance_mm, chart.distance_mm, row))
        arm = along_mm[:, None] * axes.along + height[:, None] * axes.up
        stretch = np.einsum("ki,ki->k", planes.velocity, planes.normal) - np.einsum(
            "ki,ki->k", arm, planes.turning_per_mm
        )
        return cls(
            frozen(distance_mm),
            frozen(along_mm),
            planes.origin_mm + along_mm[:, None] * axes.along,
            planes.normal,
            axes.along,
            axes.up,
            np.maximum(stretch, LEAST_STRETCH),
        )

    @classmethod
    def at_slabs(cls, chart: Chart, axes: SideAxes, slabs: Int, along_mm: F64) -> Self:
        """Return places (K,) along the side of slabs, in any order; as good as a lead but for how it stretches."""
        planes = chart.planes
        base = planes.origin_mm[slabs] + along_mm[:, None] * axes.along[slabs]
        ahead, across, up = planes.normal[slabs], axes.along[slabs], axes.up[slabs]
        return cls(chart.distance_mm[slabs], along_mm, base, ahead, across, up, np.ones(len(slabs)))

    def chosen(self, which: Bool) -> Lead:
        """Return the places chosen (K,)."""
        arrays = self.distance_mm, self.along_mm, self.base_mm, self.ahead, self.across, self.up, self.stretch
        return Lead(*(values[which] for values in arrays))


def axis_at_depth_mm(sheet: Sheet, lead: Lead, body: CutterBody, depth_mm: F64, *, slack_mm: float = SLACK_MM) -> F64:
    """Return how high (K,) an axis is led so that the cutter nowhere goes deeper than depths (K,) under a sheet.

    Infinite where the cutter meets nothing.

    Notes
    -----
    No point of a ball of radius r is deeper than d if its centre stays r - d away from the metal: the surface
    is eroded by that smaller ball. For other shapes the same is asked of every disc in its own plane.
    """
    if body.shape == "ball":
        radius = body.radius_mm - depth_mm[:, None]
        disc = _unit_disc(_steps(float(np.abs(radius).max(initial=0.0)), slack_mm))
        ahead, across, up = sheet.seen(lead, np.abs(radius) * disc[0], np.abs(radius) * disc[1])
        return _least(up[:, None], (ahead**2 + across**2)[:, None], radius[..., None])
    z, wide = _head(body)
    x = np.linspace(-1.0, 1.0, _steps(body.radius_mm, slack_mm))
    ahead_of = np.broadcast_to(body.widest_mm - z, (len(depth_mm), len(z)))
    share = sheet.in_plane_share(lead, ahead_of)
    radius = wide - depth_mm[:, None] / np.where(share > 0.0, share, 1.0)
    reach = np.abs(wide - depth_mm[:, None])[..., None] * x
    up, square = _rows_seen(sheet, lead, ahead_of, reach)
    return _least(up, square, radius[..., None])


def axis_below_mm(sheet: Sheet, lead: Lead, body: CutterBody, axis_mm: F64) -> F64:
    """Return axes (K,), or as much lower as keeps all of the cutter from passing a sheet.

    Where even a coarse look finds room to spare none is taken more closely.
    """
    rough = _room_mm(sheet, lead, body, ROUGH_MM)
    near = rough < axis_mm + 2.0 * ROUGH_MM
    below = axis_mm.copy()
    if near.any():
        below[near] = np.minimum(axis_mm[near], _room_mm(sheet, lead.chosen(near), body, SLACK_MM))
    return below


def _room_mm(sheet: Sheet, lead: Lead, body: CutterBody, slack_mm: float) -> F64:
    if body.shape == "ball":
        return axis_at_depth_mm(sheet, lead, body, np.zeros(len(lead.distance_mm)), slack_mm=slack_mm)
    z, wide = _head(body)
    x = np.linspace(-1.0, 1.0, _steps(body.radius_mm, slack_mm))
    shape = len(lead.distance_mm), len(z)
    ahead_of = np.broadcast_to(body.widest_mm - z, shape)
    up, square = _rows_seen(sheet, lead, ahead_of, np.broadcast_to(wide[:, None] * x, (*shape, len(x))))
    return _least(up, square, np.broadcast_to(wide, shape)[..., None])


@dataclass(frozen=True, slots=True)
class Set:
    """Depths (K,) that a cutter is set to, and how high (K,) its axis is led for them."""

    depth_mm: F64
    axis_mm: F64


def depth_of_mm(sheet: Sheet, lead: Lead, body: CutterBody, axis_mm: F64, at_most: Set) -> F64:
    """Return how deep (K,) a cutter goes that is led at heights no higher than for depths it is set to at most.

    Negative where it does not reach the metal.
    """
    first = at_most.depth_mm
    rise = at_most.axis_mm - axis_mm
    second = np.maximum(first - rise, -body.radius_mm)
    left = axis_at_depth_mm(sheet, lead, body, second) - axis_mm
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = (rise - left) / (first - second)
        better = second - left / rate
    return np.where(np.isfinite(better), np.minimum(better, first), first)


def _steps(radius_mm: float, slack_mm: float) -> int:
    """Return how many points across a ball keep it within a slack of what it may touch between them."""
    return 2 * int(np.ceil(0.5 * np.sqrt(radius_mm / slack_mm))) + 1


def _unit_disc(steps: int) -> F64:
    line = np.linspace(-1.0, 1.0, max(steps, 3))
    grid = np.stack(np.meshgrid(line, line, indexing="ij")).reshape(2, -1)
    return grid[:, (grid**2).sum(axis=0) <= 1.0]


def _head(body: CutterBody) -> tuple[F64, F64]:
    """Return places behind the tip at which a head is tried, and its radius there."""
    z = np.union1d(
        np.linspace(0.0, body.head_mm, ALONG_BODY),
        np.linspace(0.0, min(body.diameter_mm, body.head_mm), ALONG_BODY),
    )
    return z, body.radius_at_mm(z)


def _rows_seen(sheet: Sheet, lead: Lead, ahead_of: F64, across: F64) -> tuple[F64, F64]:
    """Return heights (K, Z, X) and squares of the place across, over rows across at places ahead (K, Z)."""
    flat = across.reshape(len(across), -1)
    ahead = np.broadcast_to(ahead_of[..., None], across.shape).reshape(flat.shape)
    _, place, up = sheet.seen(lead, ahead, flat)
    return up.reshape(across.shape), (place**2).reshape(across.shape)


def _least(up: F64, square: F64, radius: F64) -> F64:
    """Return the least height (K,) over parts (K, Z, X) at which a ball or disc of a radius touches the sheet.

    A radius below nothing is how far the centre may go beyond the sheet.
    """
    inside = (square <= radius**2 + ROUNDING_MM**2) & np.isfinite(up)
    chord = np.sqrt(np.maximum(np.where(inside, radius**2 - square, 0.0), 0.0))
    under = np.where(inside, up - chord, np.inf).min(axis=-1)
    beyond = np.where(inside, up + chord, -np.inf).max(axis=-1)
    beyond = np.where(np.isfinite(beyond), beyond, np.inf)
    return np.where(radius[..., 0] >= 0.0, under, beyond).min(axis=-1)
