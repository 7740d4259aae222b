"""Where are the flat ends of a scan: the mouth at the face, and the last of the port?

An end is an open edge all the way round (a rim), or a flat patch of the surface: a flange, or the cut end of a
mould.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.meshes.values import MeshError, Rim, ScanMesh
from portgeom.capture.slicing.index import MeshIndex
from portgeom.geometry.arrays import F64

RIM_OFF_FLAT = 0.25
"""Out-of-plane spread, as a share of its radius, up to which a rim counts as a mouth: scans end ragged."""

RIM_TRIES, RIM_KEPT = 40, 4.0
"""How many planes through three places of a rim are tried, and up to how many times what half of it strays counts."""

FLAT_DEG = 20.0
FLAT_SHARE = 0.006
"""Triangles of a flat patch lean less than this from it, and lie within this share of the patch's size."""

NEAR_SHARE = 0.02
PATCH_SHARE = 0.15
"""How near a point the surface must be, and how far round it the patch is fitted, as shares of the mesh's size."""

ROUNDS = 8


@dataclass(frozen=True, slots=True)
class Flat:
    """A fitted plane: a point on it, its normal (3,), how far what it was fitted to strays, and what that was."""

    point_mm: F64
    normal: F64
    stray_mm: float
    what: str

    def facing(self, towards: F64) -> Flat:
        """Return it with its normal on the side of a direction."""
        return self if self.normal @ towards >= 0.0 else Flat(self.point_mm, -self.normal, self.stray_mm, self.what)


def plane_of_points(points_mm: F64) -> Flat:
    """Return the plane through three points (3, 3).

    Raises
    ------
    MeshError
        If they lie nearly on one line.
    """
    a, b = points_mm[1] - points_mm[0], points_mm[2] - points_mm[0]
    normal = np.cross(a, b)
    size = float(np.linalg.norm(normal))
    longest = max(float(np.linalg.norm(e)) for e in (a, b, a - b))
    if size < 0.05 * longest**2:
        raise MeshError("the three points lie nearly on one line", "take them round the mouth, wide apart")
    return Flat(points_mm.mean(axis=0), normal / size, 0.0, "three points")


def end_near(mesh: ScanMesh, index: MeshIndex, near_mm: F64) -> Flat:
    """Return the mouth or flange near a point.

    Raises
    ------
    MeshError
        If neither an open rim nor a flat patch is there.
    """
    rims = [r for r in mesh.rims if _radius_mm(r) > 0.0]
    held = [r for r in rims if np.linalg.norm(r.centre_mm - near_mm) < 1.5 * _radius_mm(r)]
    large = [r for r in held if _radius_mm(r) > 0.5 * max(_radius_mm(o) for o in held)]
    if large:
        rim = min(large, key=lambda r: float(np.linalg.norm(r.centre_mm - near_mm)))
        flat = flat_of_rim(rim)
        if flat is not None:
            return flat
    return _flat_patch(index, near_mm)


def flat_of_rim(rim: Rim) -> Flat | None:
    """Return the plane of a rim, or None where it is no mouth.

    A hole that opens into the rim is a bite out of it, which would tilt the plane nearest to all of it. So it is that
    of the most even part: of planes through three places round the rim, the one from which half of it strays least,
    fitted anew to what does not stray much further.
    """
    points = rim.points_mm
    step = np.linalg.norm(np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0), axis=1)
    flat = _fitted(points, step, "an open rim")
    if flat.stray_mm >= RIM_OFF_FLAT * _radius_mm(rim):
        return None
    best, half = flat, _half_within(flat, points, step)
    run = (np.cumsum(step) - 0.5 * step) / step.sum()
    for start in np.arange(RIM_TRIES) / (3.0 * RIM_TRIES):
        three = points[np.searchsorted(run, start + np.arange(3) / 3.0).clip(0, len(points) - 1)]
        normal = np.cross(three[1] - three[0], three[2] - three[0])
        if not normal.any():
            continue
        tried = Flat(three.mean(axis=0), normal / np.linalg.norm(normal), 0.0, flat.what)
        within = _half_within(tried, points, step)
        if within < half:
            best, half = tried, within
    for _ in range(ROUNDS):
        keep = np.abs((points - best.point_mm) @ best.normal) <= max(RIM_KEPT * half, 1e-9 * _radius_mm(rim))
        if step[keep].sum() < 0.5 * step.sum() or keep.sum() < 3:
            break
        best = _fitted(points[keep], step[keep], flat.what)
        half = _half_within(best, points, step)
    return best.facing(flat.normal)


def _half_within(flat: Flat, points: F64, weight: F64) -> float:
    """Return how far from a plane half of weighted points lie at most."""
    off = np.abs((points - flat.point_mm) @ flat.normal)
    order = np.argsort(off)
    return float(off[order][np.searchsorted(np.cumsum(weight[order]), 0.5 * weight.sum())])


def cap_ahead(index: MeshIndex, from_mm: F64, ahead: F64, radius_mm: float) -> Flat | None:
    """Return the flat end that closes the passage ahead of a place, or None where there is none.

    Looks at triangles within ``radius_mm`` sideways and ahead whose normals lie along the way.
    """
    faces = index.within(from_mm - 1.5 * radius_mm, from_mm + 1.5 * radius_mm)
    middle = np.zeros((len(faces), 3))
    for k in range(3):
        middle += index.vertices_mm.take(faces[:, k], axis=0)
    middle /= 3.0
    off = middle - from_mm
    forward = off @ ahead
    aside = np.sqrt(np.maximum(np.einsum("ij,ij->i", off, off) - forward**2, 0.0))
    here = (forward > -0.25 * radius_mm) & (forward < radius_mm) & (aside < radius_mm)
    faces, middle = faces[here], middle[here]
    normal, area = _facing(index.vertices_mm[faces])
    facing = np.abs(normal @ ahead) > np.cos(np.radians(2.0 * FLAT_DEG))
    middle, normal, area = middle[facing], normal[facing], area[facing]
    if area.sum() < 0.5 * radius_mm**2:
        return None
    flat = _settled(middle, normal, area, radius_mm)
    if flat is None or flat.stray_mm > FLAT_SHARE * 2.0 * radius_mm:
        return None
    return flat.facing(ahead)


def _flat_patch(index: MeshIndex, near_mm: F64) -> Flat:
    reach = NEAR_SHARE * index.size_mm
    found = _around(index, near_mm, reach)
    if not len(found.area):
        off = float(np.linalg.norm(index.vertices_mm - near_mm, axis=1).min())
        raise MeshError(
            f"there is no surface and no open rim near the point given; the mesh's nearest corner is {off:.1f} mm off",
            "give a point on the flange, or in the open mouth",
        )
    seed = found.normal[np.argmin(found.off)]
    reach = PATCH_SHARE * index.size_mm
    found = _around(index, near_mm, reach)
    alike = np.abs(found.normal @ seed) > np.cos(np.radians(FLAT_DEG))
    flat = _settled(found.middle[alike], found.normal[alike], found.area[alike], reach)
    if flat is not None:
        off = abs(float((near_mm - flat.point_mm) @ flat.normal))
        if flat.stray_mm <= FLAT_SHARE * reach and off <= 4.0 * FLAT_SHARE * reach:
            return flat
    raise MeshError(
        "the surface near the point given is not flat",
        "give a point on the flange, or three points round the mouth",
    )


@dataclass(frozen=True, slots=True)
class _Triangles:
    """Triangles: middles and unit normals (k, 3), areas (k,), and how far each is from a point (k,)."""

    middle: F64
    normal: F64
    area: F64
    off: F64


def _around(index: MeshIndex, point: F64, reach: float) -> _Triangles:
    """Return the triangles within reach of a point."""
    faces = index.within(point - reach, point + reach)
    corners = index.vertices_mm[faces]
    off = _distance(corners, point)
    corners, off = corners[off <= reach], off[off <= reach]
    return _Triangles(corners.mean(axis=1), *_facing(corners), off)


def _facing(corners: F64) -> tuple[F64, F64]:
    """Return unit normals (k, 3), 0 where there is none, and areas (k,) of triangles (k, 3, 3)."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(normal, axis=1)
    unit = np.divide(normal, twice[:, None], out=np.zeros_like(normal), where=twice[:, None] > 0.0)
    return unit, 0.5 * twice


def _distance(corners: F64, point: F64) -> F64:
    """Return how far a point is from triangles (k, 3, 3)."""
    edge = np.roll(corners, -1, axis=1) - corners
    to = point - corners
    square = np.maximum(np.einsum("kij,kij->ki", edge, edge), np.finfo(np.float64).tiny)
    share = np.clip(np.einsum("kij,kij->ki", to, edge) / square, 0.0, 1.0)
    off = np.linalg.norm(to - share[..., None] * edge, axis=2).min(axis=1, initial=np.inf)
    normal = np.cross(edge[:, 0], edge[:, 1])
    over = (np.einsum("kij,kij->ki", np.cross(edge, to), normal[:, None, :]) >= 0.0).all(axis=1)
    size = np.linalg.norm(normal, axis=1)
    height = np.abs(np.einsum("kj,kj->k", to[:, 0], normal)) / np.maximum(size, np.finfo(np.float64).tiny)
    return np.where(over & (size > 0.0), height, off)


def _settled(middle: F64, normal: F64, area: F64, size_mm: float) -> Flat | None:
    """Return the plane that most of the area agrees on, found by leaving out what strays, again and again."""
    if len(area) < 2 or area.sum() <= 0.0:
        return None
    # the commonest depth along the mean normal, so that a step beside the flat does not tilt the first guess
    mean = (normal * np.sign(normal @ normal[np.argmax(area)])[:, None] * area[:, None]).sum(axis=0)
    mean /= np.linalg.norm(mean)
    depth = middle @ mean
    order = np.argsort(depth)
    run = np.concatenate([[0.0], np.cumsum(area[order])])
    width = 4.0 * FLAT_SHARE * size_mm
    last = np.searchsorted(depth[order], depth[order] + width, side="right")
    best = int(np.argmax(run[last] - run[:-1]))
    keep = (depth >= depth[order][best]) & (depth <= depth[order][best] + width)
    flat = None
    for _ in range(ROUNDS):
        if keep.sum() < 2 or area[keep].sum() <= 0.0:
            return flat
        flat = _fitted(middle[keep], area[keep], "a flat patch", mean)
        off = np.abs((middle - flat.point_mm) @ flat.normal)
        again = off <= max(3.0 * flat.stray_mm, 0.5 * FLAT_SHARE * size_mm)
        if (again == keep).all():
            break
        keep = again
    return flat


def _fitted(points: F64, weight: F64, what: str, like: F64 | None = None) -> Flat:
    """Return the plane nearest to weighted points; of fewer than three, through them along ``like``."""
    share = weight / weight.sum()
    middle = share @ points
    off = points - middle
    if len(points) >= 3 or like is None:
        spread, axes = np.linalg.eigh((off * share[:, None]).T @ off)
        normal = axes[:, 0]
        if like is not None and spread[1] < 1e-4 * spread[2]:
            normal = like
    else:
        normal = like
    return Flat(middle, normal, float(np.sqrt(share @ (off @ normal) ** 2)), what)


def _radius_mm(rim: Rim) -> float:
    return float(np.sqrt(((rim.points_mm - rim.centre_mm) ** 2).sum(axis=1).mean()))
